// What a plan does where no window is long enough for what it would draw: each way out, on music made by hand. What is
// expected was worked out on paper from the player's times (1.5 s a knob, 0.5 s each further one; 0.8 s for the box) at 60
// crotchets a minute, and holds for any weights that keep the order of docs/design/plan.md.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "engine/plan/check.hpp"
#include "engine/plan/check_music.hpp"
#include "engine/playing/by_hand_test.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

struct Rest {
  int stave = 0;
  int from = 0;  // quarters, both
  int to = 0;
};

// Eight bars of four crotchets, one voice a stave, but for rests.
Score music(int staves, const std::vector<Rest>& rests) {
  std::vector<by_hand::Played> notes;
  constexpr int middle[] = {72, 52, 43};
  for (int stave = 0; stave < staves; ++stave) {
    for (int q = 0; q < 32; ++q) {
      const bool rest = std::any_of(rests.begin(), rests.end(),
                                    [&](const Rest& r) { return r.stave == stave && r.from <= q && q < r.to; });
      // Two notes a hand, an octave: neither hand can take the other's as well.
      if (rest) continue;
      notes.push_back({middle[stave] + q % 3, Rational{q}, Rational{1}, stave});
      if (stave < 2) notes.push_back({middle[stave] + 12 + q % 3, Rational{q}, Rational{1}, stave});
    }
  }
  std::vector<Role> roles{Role::right_hand, Role::left_hand, Role::feet};
  roles.resize(static_cast<std::size_t>(staves));
  return by_hand::score(notes, roles);
}

using by_hand::direct;

Score marked(Score s, const char* first, const char* then) {
  direct(s, Direction::Kind::dynamics, 0, first);
  direct(s, Direction::Kind::dynamics, 4, then);
  return s;
}

Plan planned(const Organ& organ, const Score& score, const Player& player) {
  const Listening listening(organ, usual_condition(organ));
  Piece piece;
  piece.title = "By hand";
  piece.tempo = 60;
  Plan plan;
  EXPECT_TRUE(plan_piece(plan, organ, listening, score, piece, player, {}, {}));
  EXPECT_THAT(check(organ, plan), testing::IsEmpty());
  EXPECT_THAT(check_piece(organ, plan, 0, score, Tempo(score, assumed_tempo, piece.tempo), player), testing::IsEmpty());
  return plan;
}
int knobs_of(const Plan& plan, Mover mover) {
  int n = 0;
  for (const Cue& c : plan.cues) n += c.mover == mover ? static_cast<int>(c.draw.size() + c.put_in.size()) : 0;
  return n;
}
int by_hands(const Plan& plan) { return knobs_of(plan, Mover::left_hand) + knobs_of(plan, Mover::right_hand); }

class Alternatives : public testing::Test {
 protected:
  Organ chapel_ = read_organ_folder("demo/chapel")->organ;
  Organ village_ = read_organ_folder("demo/village")->organ;
  Player player_ = default_player();
};

TEST_F(Alternatives, AHelperWhereOneStandsBy) {
  const Score s = marked(music(2, {}), "p", "ff");
  player_.helper = true;
  const Plan plan = planned(chapel_, s, player_);
  EXPECT_GT(knobs_of(plan, Mover::helper), 0);
  EXPECT_EQ(by_hands(plan), 0);
  EXPECT_GT(*plan.items[0].sections[1].loudness, *plan.items[0].sections[0].loudness);
}

TEST_F(Alternatives, FewerKnobsWhereNobodyStandsBy) {
  // The left hand rests for two seconds before ff: two knobs, where a helper would have moved more.
  const Score s = marked(music(2, {{1, 14, 16}}), "p", "ff");
  const Plan alone = planned(chapel_, s, player_);
  EXPECT_LE(by_hands(alone), 2);
  EXPECT_GE(by_hands(alone), 1);
  player_.helper = true;
  const Plan helped = planned(chapel_, marked(music(2, {}), "p", "ff"), player_);
  EXPECT_LE(*alone.items[0].sections[1].loudness, *helped.items[0].sections[1].loudness);
}

TEST_F(Alternatives, TheOtherManualWhichIsReady) {
  const Plan plan = planned(village_, marked(music(3, {}), "p", "ff"), player_);
  EXPECT_EQ(knobs_of(plan, Mover::helper) + by_hands(plan), 0);
  const auto& sections = plan.items[0].sections;
  EXPECT_NE(sections[1].keyboards.right, sections[0].keyboards.right);
  EXPECT_GT(*sections[1].loudness, *sections[0].loudness);
  EXPECT_EQ(sections[1].drawn.stops, sections[0].drawn.stops);
}

TEST_F(Alternatives, TheBoxWhereTheCopyKeepsTheHandsOnTheSwell) {
  Score s = music(2, {});
  direct(s, Direction::Kind::words, 0, "Sw.");
  s = marked(s, "p", "f");
  const Plan plan = planned(village_, s, player_);
  EXPECT_EQ(knobs_of(plan, Mover::helper) + by_hands(plan), 0);
  const auto& sections = plan.items[0].sections;
  EXPECT_GT(sections[1].drawn.box[0], sections[0].drawn.box[0]);
  EXPECT_EQ(sections[1].keyboards, sections[0].keyboards);
}

TEST_F(Alternatives, EarlierWhereItIsNotHeardYet) {
  // Both on the Swell, then both on the Great; the right hand rests two bars before, the left never. A composition pedal would
  // need no hand at all, so this organ has none.
  std::erase_if(village_.accessories, [](const Accessory& a) { return a.kind == AccessoryKind::composition; });
  Score s = music(2, {{0, 10, 14}});
  direct(s, Direction::Kind::words, 0, "Sw.");
  direct(s, Direction::Kind::words, 4, "Gt.");
  s = marked(s, "p", "ff");
  // What is drawn from the beginning would be ready, too: so much was drawn by the user, and nothing on the Great.
  Piece piece;
  piece.title = "By hand";
  piece.tempo = 60;
  FixedState fixed;
  fixed.drawn.box.fill(1);
  fixed.drawn.stops.set(static_cast<std::size_t>(*stop_by_id(village_, "sw-gedackt")));
  fixed.on = HandsAndFeet{keyboard_by_id(village_, "swell"), keyboard_by_id(village_, "swell"), std::nullopt};
  piece.wishes.push_back({0, Rational{0}, "", fixed});
  const Listening listening(village_, usual_condition(village_));
  Plan plan;
  ASSERT_TRUE(plan_piece(plan, village_, listening, s, piece, player_, {}, {}));
  EXPECT_THAT(check_piece(village_, plan, 0, s, Tempo(s, assumed_tempo, piece.tempo), player_), testing::IsEmpty());
  EXPECT_EQ(knobs_of(plan, Mover::helper), 0);
  ASSERT_GT(by_hands(plan), 0);
  for (const Cue& c : plan.cues) {
    if (c.draw.empty()) continue;
    EXPECT_EQ(c.mover, Mover::right_hand);
    EXPECT_LT(performed_at(s, c.moment).value(), Rational{14});
    EXPECT_THAT(c.why, testing::HasSubstr("Not heard yet"));
  }
}

TEST_F(Alternatives, LaterWhereTheSlurEnds) {
  Score s = marked(music(2, {{1, 14, 20}}), "p", "ff");
  for (WrittenNote& n : s.notes) {
    if (n.stave != 0) continue;
    if (n.bar == 3 && n.at == Rational{0}) ++n.slur_starts;
    if (n.bar == 4 && n.at == Rational{1}) ++n.slur_ends;
  }
  const Plan plan = planned(chapel_, s, player_);
  const auto& sections = plan.items[0].sections;
  ASSERT_EQ(sections.size(), 3U);
  EXPECT_EQ(sections[1].drawn, sections[0].drawn);
  EXPECT_GT(*sections[2].loudness, *sections[1].loudness);
  EXPECT_GT(by_hands(plan), 0);
}

}  // namespace
}  // namespace calcant
