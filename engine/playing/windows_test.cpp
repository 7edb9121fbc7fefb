#include "engine/playing/windows.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "engine/playing/by_hand_test.hpp"
#include "engine/playing/check.hpp"
#include "engine/quantity/random.hpp"

namespace calcant {
namespace {

using by_hand::Played;
const std::vector<Role> three_staves{Role::right_hand, Role::left_hand, Role::feet};

std::vector<Window> of(const std::vector<Window>& all, Hand h, WindowKind worst = WindowKind::taken_by_other) {
  std::vector<Window> out;
  for (const Window& w : all) {
    if (w.hand == h && w.kind <= worst) out.push_back(w);
  }
  return out;
}

TEST(Windows, ARestIsAWindowAsLongAsTheTempoMakesIt) {
  // The left hand rests for bar 2 while the right plays two octaves of quarters.
  std::vector<Played> notes = by_hand::line({60, 62, 64, 65, 67, 69, 71, 72, 60, 62, 64, 65}, Rational{1}, 0);
  notes.push_back({48, Rational{0}, Rational{4}, 1});
  notes.push_back({48, Rational{8}, Rational{4}, 1});
  const Score s = by_hand::score(notes, three_staves);
  const auto left = of(windows(s, default_player(), Tempo(s, 60)), Hand::left, WindowKind::rest);
  ASSERT_FALSE(left.empty());
  EXPECT_EQ(left[0].kind, WindowKind::rest);
  EXPECT_EQ(left[0].from, Rational{4});
  EXPECT_EQ(left[0].to, Rational{8});
  EXPECT_DOUBLE_EQ(left[0].seconds.value(), 4.0);
  EXPECT_EQ(left[0].moment.bar, "2");
  EXPECT_DOUBLE_EQ(of(windows(s, default_player(), Tempo(s, 120)), Hand::left, WindowKind::rest)[0].seconds.value(),
                   2.0);
  EXPECT_EQ(knobs_within(default_player(), left[0].seconds), 6);  // 1.5 s, and 0.5 s for each of five more
}

TEST(Windows, AtTheLastChordOneHandTakesTheUpperPartsAndTheOtherIsFreeThroughTheGap) {
  // A hymn's last chord over a pedal bass: soprano, alto and tenor lie within a ninth; the verse's gap is two beats.
  std::vector<Played> notes;
  for (int i = 0; i < 4; ++i) {
    const Rational at{i};
    notes.push_back({72, at, Rational{1}, 0});
    notes.push_back({67, at, Rational{1}, 0});
    notes.push_back({55, at, Rational{1}, 1});
    notes.push_back({48, at, Rational{1}, 2});
  }
  for (const auto& [midi, stave] : std::vector<std::pair<int, int>>{{72, 0}, {67, 0}, {64, 1}, {48, 2}}) {
    notes.push_back({midi, Rational{4}, Rational{2}, stave});
  }
  const Score s = by_hand::score(notes, three_staves, Rational{2});
  Playing playing;
  playing.gap_after = Rational{2};
  const auto all = windows(s, default_player(), Tempo(s, 60), playing);
  for (const Hand h : {Hand::left, Hand::right}) {
    const auto mine = of(all, h);
    const auto last =
        std::find_if(mine.begin(), mine.end(), [](const Window& w) { return w.kind == WindowKind::taken_by_other; });
    ASSERT_NE(last, mine.end());
    EXPECT_EQ(last->from, Rational{4});
    EXPECT_EQ(last->to, Rational{8});
    ASSERT_EQ(last->other_needed.size(), 1U);
    EXPECT_EQ(last->other_needed[0], (Span{Rational{4}, Rational{6}}));
  }
  // With a small hand the chord is too wide, and only the gap is left.
  Player small = default_player();
  small.left.most = small.right.most = given(7, "own");
  for (const Window& w : windows(s, small, Tempo(s, 60), playing)) EXPECT_EQ(w.from, Rational{6});
}

TEST(Windows, HandsOnTwoManualsCannotHelpEachOther) {
  std::vector<Played> notes{{72, Rational{0}, Rational{4}, 0}, {67, Rational{0}, Rational{4}, 1}};
  const Score s = by_hand::score(notes, three_staves);
  EXPECT_FALSE(windows(s, default_player(), Tempo(s, 60)).empty());
  Playing playing;
  playing.apart = {{Rational{0}, Rational{4}}};
  EXPECT_TRUE(windows(s, default_player(), Tempo(s, 60), playing).empty());
}

TEST(Windows, ABassThatTheFeetPlayTooMayBeLeftToThem) {
  std::vector<Played> notes{{72, Rational{0}, Rational{4}, 0}, {43, Rational{0}, Rational{4}, 1}};
  const Score alone = by_hand::score(notes, three_staves);
  EXPECT_TRUE(windows(alone, default_player(), Tempo(alone, 60)).empty());
  notes.push_back({43, Rational{0}, Rational{4}, 2});
  const Score doubled = by_hand::score(notes, three_staves);
  const auto w = of(windows(doubled, default_player(), Tempo(doubled, 60)), Hand::left);
  ASSERT_EQ(w.size(), 1U);
  EXPECT_EQ(w[0].kind, WindowKind::rest);
  EXPECT_EQ(w[0].to, Rational{4});
}

TEST(Windows, APageTurnTakesItsTimeUnlessSomebodyTurns) {
  std::vector<Played> notes{{72, Rational{0}, Rational{8}, 0}, {60, Rational{4}, Rational{4}, 1}};
  const Score s = by_hand::score(notes, three_staves);
  Playing playing;
  playing.page_turns = {Rational{2}};
  Player p = default_player();
  const auto rests = [&] {
    for (const Window& w : windows(s, p, Tempo(s, 60), playing)) {
      if (w.hand == Hand::left && w.kind == WindowKind::rest) return w;
    }
    return Window{};
  };
  EXPECT_TRUE(rests().page_turn);
  EXPECT_DOUBLE_EQ(rests().seconds.value(), 4.0 - 1.5);
  p.helper = true;
  EXPECT_DOUBLE_EQ(rests().seconds.value(), 4.0);
}

TEST(Windows, SidesAndKnobs) {
  EXPECT_TRUE(reaches(Hand::left, Jamb::left));
  EXPECT_FALSE(reaches(Hand::left, Jamb::right));
  EXPECT_TRUE(reaches(Hand::right, Jamb::over_manual));
  EXPECT_EQ(knobs_within(default_player(), Seconds{1.4}), 0);
  EXPECT_EQ(knobs_within(default_player(), Seconds{2.0}), 2);
}

// Miller 1909, ch. VII (by way of the reference): a trigger swell pedal rests only shut or hitched open; between them
// a foot stays on it.
TEST(Windows, ALeverBetweenItsHitchesKeepsTheFoot) {
  SwellBox box = by_hand::village().boxes[0];
  const std::vector<BoxMove> moves{
      {Rational{2}, Rational{4}, 0.5}, {Rational{8}, Rational{10}, 1.0}, {Rational{12}, Rational{13}, 0.3}};
  const auto lever = foot_for_box(box, moves, Rational{20});
  ASSERT_EQ(lever.size(), 2U);
  EXPECT_EQ(lever[0].from, Rational{2});
  EXPECT_EQ(lever[0].to, Rational{10});
  EXPECT_EQ(lever[1].to, Rational{20});
  box.pedal = SwellPedal::balanced;
  EXPECT_EQ(foot_for_box(box, moves, Rational{20}).size(), 3U);
}

TEST(Windows, FreeFeetAreWhereTheyHoldNothing) {
  const Score s = by_hand::score(by_hand::line({43, 55, 43, 55}, Rational{1}, 0), {Role::feet});
  const auto p = solve_feet(s, by_hand::village(), default_player(), Tempo(s, 60));
  ASSERT_TRUE(p);
  const auto free = free_feet(s, *p);
  EXPECT_EQ(free[0], (std::vector<Span>{{Rational{1}, Rational{2}}, {Rational{3}, Rational{4}}}));
  EXPECT_EQ(free[1], (std::vector<Span>{{Rational{0}, Rational{1}}, {Rational{2}, Rational{3}}}));
}

// ---- the checker ----

Score random_score(Random& random) {
  std::vector<Played> notes;
  for (int stave = 0; stave < 3; ++stave) {
    Rational at;
    int centre = stave == 0 ? 70 : stave == 1 ? 60 : 48;
    while (at < Rational{24}) {
      const Rational length{1 + random.below(8), 4};
      if (random.below(3) != 0) {
        const int chord = stave == 2 ? 1 : 1 + random.below(3);
        for (int k = 0; k < chord; ++k) {
          const bool tied = random.below(6) == 0;
          const int midi = centre + random.below(9) - 4;
          notes.push_back({midi, at, length, stave, false, tied});
          if (tied) notes.push_back({midi, at + length, Rational{1, 2}, stave, true, false});
        }
      }
      at += length;
    }
  }
  Score s = by_hand::score(notes, three_staves);
  if (random.below(3) == 0) s.staves[1].role = Role::either_hand;
  if (random.below(2) == 0) {
    s.turns.push_back({0, 2, s.turns.back().start + Rational{4}});  // the first bar again at the end
  }
  return s;
}

HandChange within(const Window& w, const Player& p) {
  return {w.from, w.to, w.hand, w.hand == Hand::left ? Jamb::left : Jamb::right,
          std::max(1, knobs_within(p, w.seconds))};
}

TEST(CheckChanges, PassesEveryWindowAndNothingBeyond) {
  Random random(7, 1);
  const Player p = default_player();
  int windows_seen = 0;
  int refused = 0;
  for (int trial = 0; trial < 150; ++trial) {
    const Score s = random_score(random);
    const Tempo tempo(s, random.uniform(30, 100));
    Playing playing;
    playing.gap_after = Rational{random.below(3)};
    if (random.below(3) == 0) playing.apart = {{Rational{random.below(20)}, Rational{20 + random.below(4)}}};
    const auto all = windows(s, p, tempo, playing, Seconds{0});
    for (const Window& w : all) {
      if (knobs_within(p, w.seconds) == 0) continue;
      ++windows_seen;
      const auto breaches = check_changes(s, p, tempo, playing, {within(w, p)});
      EXPECT_TRUE(breaches.empty()) << "trial " << trial << ": " << breaches[0].message;
    }
    // Any span at random: allowed just when it lies in a window of that hand.
    for (int k = 0; k < 40; ++k) {
      HandChange c;
      c.from = Rational{random.below(90), 4};
      c.to = c.from + Rational{1 + random.below(10), 4};
      c.hand = random.below(2) == 0 ? Hand::left : Hand::right;
      c.side = Jamb::over_manual;
      const bool in_window = std::any_of(all.begin(), all.end(), [&](const Window& w) {
        return w.hand == c.hand && w.from <= c.from && c.to <= w.to;
      });
      const auto breaches = check_changes(s, p, tempo, playing, {c});
      const bool needed = std::any_of(breaches.begin(), breaches.end(),
                                      [](const Breach& b) { return b.kind == Breach::Kind::hand_needed; });
      const bool outside = std::any_of(breaches.begin(), breaches.end(),
                                       [](const Breach& b) { return b.kind == Breach::Kind::outside; });
      if (outside) continue;
      refused += needed;
      EXPECT_EQ(needed, !in_window) << "trial " << trial << " " << to_string(c.from) << " to " << to_string(c.to);
    }
  }
  EXPECT_GT(windows_seen, 300);
  EXPECT_GT(refused, 300);
}

bool finds(const std::vector<Breach>& all, Breach::Kind k) {
  return std::any_of(all.begin(), all.end(), [k](const Breach& b) { return b.kind == k; });
}

TEST(CheckChanges, CatchesPlantedFaults) {
  std::vector<Played> notes = by_hand::line({60, 62, 64, 65}, Rational{2}, 0);
  notes.push_back({48, Rational{0}, Rational{2}, 1});
  notes.push_back({43, Rational{0}, Rational{8}, 2});
  const Score s = by_hand::score(notes, three_staves);
  const Tempo tempo(s, 60);
  Player p = default_player();
  const HandChange good{Rational{2}, Rational{6}, Hand::left, Jamb::left, 3};
  const auto check = [&](HandChange c) { return check_changes(s, p, tempo, {}, {c}); };
  EXPECT_TRUE(check(good).empty());
  HandChange bad = good;
  bad.side = Jamb::right;
  EXPECT_TRUE(finds(check(bad), Breach::Kind::wrong_side));
  bad = good;
  bad.knobs = 7;
  EXPECT_TRUE(finds(check(bad), Breach::Kind::too_short));
  bad = good;
  bad.from = Rational{0};
  bad.to = Rational{4};
  EXPECT_TRUE(check(bad).empty());  // the right hand holds C4 and takes C3: an octave
  p.right.comfortable = given(11, "a small hand");
  EXPECT_TRUE(finds(check(bad), Breach::Kind::hand_needed));
  bad.hand = Hand::right;
  bad.side = Jamb::right;
  EXPECT_TRUE(finds(check_changes(s, p, tempo, {}, {{Rational{0}, Rational{2}, Hand::left, Jamb::left, 1}, bad}),
                    Breach::Kind::hand_needed));
  EXPECT_TRUE(finds(check_changes(s, p, tempo, {}, {good, good}), Breach::Kind::hand_twice));
  bad = good;
  bad.to = bad.from;
  EXPECT_TRUE(finds(check(bad), Breach::Kind::empty_span));
  bad = good;
  bad.to = Rational{99};
  EXPECT_TRUE(finds(check(bad), Breach::Kind::outside));

  const auto feet = solve_feet(s, by_hand::village(), p, tempo);
  ASSERT_TRUE(feet);
  const Foot holding = feet->marks[0].use.foot;
  const Foot idle = holding == Foot::left ? Foot::right : Foot::left;
  EXPECT_TRUE(check_changes(s, p, tempo, {}, {}, {{Rational{2}, Rational{4}, idle}}, *feet).empty());
  EXPECT_TRUE(finds(check_changes(s, p, tempo, {}, {}, {{Rational{2}, Rational{4}, holding}}, *feet),
                    Breach::Kind::foot_needed));
  EXPECT_TRUE(
      finds(check_changes(s, p, tempo, {}, {}, {{Rational{2}, Rational{5, 2}, idle}}, *feet), Breach::Kind::too_short));
}

}  // namespace
}  // namespace calcant
