// Thousands of plans for music and organs at random, each held to the separate checkers; and faults planted in them.
//
// Organs are cut from the demo organs: some stops out of use, knobs moved to other jambs, a helper or none. Scores are by
// hand of chance. Nothing here has an outside source: that the checkers are right is tested beside them, by hand.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "engine/plan/check.hpp"
#include "engine/plan/check_music.hpp"
#include "engine/playing/by_hand_test.hpp"
#include "engine/quantity/random.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

Organ cut(const char* demo, Random& random) {
  static const Organ chapel = read_organ_folder("demo/chapel")->organ;
  static const Organ village = read_organ_folder("demo/village")->organ;
  Organ o = std::string_view{demo} == "chapel" ? chapel : village;
  const bool small = std::string_view{demo} != "chapel";
  const auto jamb = [&] {
    return std::array{Jamb::left, Jamb::right, Jamb::over_manual,
                      Jamb::unknown}[static_cast<std::size_t>(random.below(4))];
  };
  for (Stop& s : o.stops) {
    s.out_of_use = random.below(small ? 2 : 4) == 0;
    if (random.below(3) == 0) s.place.jamb = jamb();
  }
  for (Coupler& c : o.couplers) {
    if (random.below(3) == 0) c.place.jamb = jamb();
  }
  return o;
}

Player somebody(Random& random) {
  Player p = default_player();
  p.one_knob = given(Seconds{random.uniform(0.8, 2)}, "chance");
  p.further_knob = given(Seconds{random.uniform(0.2, 0.8)}, "chance");
  p.helper = random.below(4) == 0;
  return p;
}

Hymn some_hymn(Random& random) {
  static const char* const words[] = {"",       "",        "",     "soft",          "full", "praise",     "no pedal",
                                      "unison", "descant", "solo", "unaccompanied", "dark", "bright joy", "nonsense"};
  Hymn h;
  h.tune = "A tune by chance";
  h.tonic = random.below(12);
  h.minor = random.below(4) == 0;
  h.verses.resize(1 + static_cast<std::size_t>(random.below(6)));
  for (Verse& v : h.verses) v = parse_verse(words[random.below(14)]);
  h.bass = std::array{Bass::feet, Bass::hands, Bass::both}[static_cast<std::size_t>(random.below(3))];
  h.quarters_per_minute = random.uniform(50, 130);
  h.gap_quarters = random.below(4);
  h.last_chord_quarters = 1 + random.below(4);
  if (random.below(5) == 0) {
    h.kind = ItemKind::psalm;
    h.lines = 2;
    for (Verse& v : h.verses) {
      if (random.below(3) == 0 && v.kind == VerseKind::harmony) v.second = "full";
    }
  }
  if (random.below(3) == 0) h.over = parse_verse("quiet");
  return h;
}

Score some_score(Random& random) {
  std::vector<by_hand::Played> notes;
  const int quarters = 24 + random.below(40);
  for (int stave = 0; stave < 3; ++stave) {
    for (Rational t; t < Rational{quarters};) {
      const Rational length{1 + random.below(8), 2};
      const int middle = stave == 0 ? 70 : stave == 1 ? 57 : 45;
      if (random.below(3) != 0) {
        const int keys = stave == 2 ? 1 : 1 + random.below(3);
        for (int k = 0; k < keys; ++k) notes.push_back({middle + 4 * k + random.below(4), t, length, stave});
      }
      t += length;
    }
  }
  notes.push_back({60, Rational{0}, Rational{1}, 0});
  Score s = by_hand::score(notes, {Role::right_hand, Role::left_hand, Role::feet});
  static const char* const marks[] = {"p", "mf", "f", "ff", "pp"};
  for (int bar = 0; bar < static_cast<int>(s.bars.size()); ++bar) {
    if (random.below(2) == 0) by_hand::direct(s, Direction::Kind::dynamics, bar, marks[random.below(5)]);
    if (random.below(6) == 0) by_hand::direct(s, Direction::Kind::words, bar, random.below(2) == 0 ? "Sw." : "Gt.");
    if (random.below(6) == 0) {
      const auto wedge = random.below(2) == 0 ? Direction::Kind::wedge_opens : Direction::Kind::wedge_closes;
      by_hand::direct(s, wedge, bar, "", -1, Rational{1});
      by_hand::direct(s, Direction::Kind::wedge_ends, bar, "", -1, Rational{3});
    }
  }
  return s;
}

// Phrases of the tune, one after the other or with gaps: from one note to a later one of the stave.
void slur_by_chance(Score& s, Random& random) {
  int left = 0;
  WrittenNote* last = nullptr;
  for (WrittenNote& n : s.notes) {
    if (n.stave != 0) continue;
    if (left > 0 && --left == 0) ++n.slur_ends;
    else if (left == 0 && random.below(3) == 0) {
      ++n.slur_starts;
      left = 1 + random.below(8);
    }
    last = &n;
  }
  if (left > 0 && last != nullptr) ++last->slur_ends;
}

// The score with one slur across a place, from a note of the tune to the next; nothing where the tune has none on a side.
std::optional<Score> slurred_across(const Score& score, Rational place) {
  Score s = score;
  for (WrittenNote& n : s.notes) n.slur_starts = n.slur_ends = 0;
  WrittenNote* before = nullptr;
  WrittenNote* after = nullptr;
  for (WrittenNote& n : s.notes) {
    if (n.stave != 0) continue;
    const Rational at = written(s, n.bar, n.at);
    if (at < place) before = &n;
    if (at >= place && after == nullptr) after = &n;
  }
  if (before == nullptr || after == nullptr) return std::nullopt;
  ++before->slur_starts;
  ++after->slur_ends;
  return s;
}

constexpr int hymns = 2000;
constexpr int pieces = 1500;

TEST(PlansSlow, HymnsAtRandomCanBeCarriedOut) {
  int planned = 0;
  int cues = 0;
  for (int seed = 0; seed < hymns; ++seed) {
    Random random(static_cast<std::uint64_t>(seed), 3);
    const Organ organ = cut(seed % 20 == 0 ? "village" : "chapel", random);
    const Listening listening(organ, usual_condition(organ));
    const Player player = somebody(random);
    const Hymn h = some_hymn(random);
    VocabularyWish wish;
    if (random.below(3) == 0) wish.never = {{Knob::Kind::stop, random.below(static_cast<int>(organ.stops.size()))}};
    Plan plan;
    if (!plan_hymn(plan, organ, listening, h, player, wish, {})) continue;  // nothing left to lead with
    ++planned;
    cues += static_cast<int>(plan.cues.size());
    ASSERT_THAT(check(organ, plan), testing::IsEmpty()) << "seed " << seed;
    ASSERT_THAT(check_hymn(organ, plan, 0, h, player), testing::IsEmpty()) << "seed " << seed;
    ASSERT_THAT(check_wishes(organ, plan, 0, wish), testing::IsEmpty()) << "seed " << seed;
  }
  EXPECT_GT(planned, hymns * 3 / 4);
  EXPECT_GT(cues, planned / 2);
  std::printf("%d hymns planned, %d cues, every one carried out\n", planned, cues);
}

TEST(PlansSlow, PiecesAtRandomCanBeCarriedOutAndPlantedFaultsAreFound) {
  int planned = 0;
  int trips = 0;
  int planted = 0;
  int across = 0;
  int found = 0;
  for (int seed = 0; seed < pieces; ++seed) {
    Random random(static_cast<std::uint64_t>(seed), 5);
    const Organ organ = cut(seed % 12 == 0 ? "village" : "chapel", random);
    const Listening listening(organ, usual_condition(organ));
    const Player player = somebody(random);
    Score score = some_score(random);
    if (random.below(2) == 0) slur_by_chance(score, random);
    Piece piece;
    piece.title = "A piece by chance";
    piece.tempo = random.uniform(40, 110);
    Plan plan;
    if (!plan_piece(plan, organ, listening, score, piece, player, {}, {})) continue;
    ++planned;
    const Tempo tempo(score, 80, piece.tempo);
    ASSERT_THAT(check(organ, plan), testing::IsEmpty()) << "seed " << seed;
    ASSERT_THAT(check_piece(organ, plan, 0, score, tempo, player), testing::IsEmpty()) << "seed " << seed;
    for (std::size_t c = 0; c < plan.cues.size(); ++c) {
      const Cue& cue = plan.cues[c];
      // A stop that is heard, moved where a slur goes on.
      const auto& sections = plan.items[0].sections;
      const Section& to = sections[static_cast<std::size_t>(cue.section)];
      const Section* last = cue.section > 0 ? &sections[static_cast<std::size_t>(cue.section) - 1] : nullptr;
      const bool there = cue.moment.bar_index <= to.from.bar_index && cue.mover == Mover::helper;
      if (last != nullptr && there && last->keyboards == to.keyboards && cue.draw.size() == 1 && cue.put_in.empty() &&
          cue.draw[0].kind == Knob::Kind::stop &&
          organ.stops[static_cast<std::size_t>(cue.draw[0].index)].division ==
              organ.keyboards[static_cast<std::size_t>(*to.keyboards.right)].division) {
        const auto slurred = slurred_across(score, performed_at(score, to.from).value_or(Rational{}));
        if (slurred) {
          ++planted;
          ++across;
          found += check_piece(organ, plan, 0, *slurred, tempo, player).empty() ? 0 : 1;
        }
      }
      if (cue.mover != Mover::left_hand && cue.mover != Mover::right_hand) continue;
      ++trips;
      // A change begun so late that the hand is not back in time, and one by the hand of the other side.
      Plan late = plan;
      late.cues[c].moment = late.cues[c].window->to;
      ++planted;
      found += check_piece(organ, late, 0, score, tempo, player).empty() ? 0 : 1;
      Plan wrong = plan;
      wrong.cues[c].mover = cue.mover == Mover::left_hand ? Mover::right_hand : Mover::left_hand;
      bool sided = false;
      for (const auto* list : {&cue.draw, &cue.put_in}) {
        for (const Knob k : *list)
          sided = sided || place(organ, k).jamb == Jamb::left || place(organ, k).jamb == Jamb::right;
      }
      if (!sided) continue;
      ++planted;
      found += check_piece(organ, wrong, 0, score, tempo, player).empty() ? 0 : 1;
    }
  }
  EXPECT_GT(planned, pieces * 3 / 4);
  EXPECT_GT(trips, planned / 8);
  EXPECT_EQ(found, planted);
  std::printf("%d pieces planned, %d trips of a hand; %d of %d planted faults found, %d of them slurs\n", planned,
              trips, found, planted, across);
}

}  // namespace
}  // namespace calcant
