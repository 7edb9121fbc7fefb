// Common practice, no source: what these tests hold is what touch.hpp says.
#include "engine/playing/touch.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>

#include "engine/playing/by_hand_test.hpp"
#include "engine/playing/feet.hpp"
#include "engine/quantity/random.hpp"

namespace calcant {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::Pair;

constexpr double gap = 1.0 / 16;  // of an action that repeats eight times a second

// Everything on keyboard 0, a crotchet a second.
std::vector<std::pair<double, double>> strokes(const Score& s, int key, const Touch& touch = {},
                                               const FeetTouch& feet = {}, double quarters_a_minute = 60) {
  std::vector<std::pair<double, double>> out;
  for (const KeyHeld& k : keys_held(s, Tempo(s, quarters_a_minute), touch, Seconds{gap}, feet,
                                    [](Role, Rational) { return KeyboardIndex{0}; })) {
    if (k.key.midi == key) out.emplace_back(k.on.value(), k.off.value());
  }
  return out;
}

// Two lines of four crotchets, every part on one note.
Score hymn() {
  std::vector<by_hand::Played> notes;
  for (int i = 0; i < 8; ++i) {
    notes.push_back({72, Rational{i}, Rational{1}, 0});
    notes.push_back({64, Rational{i}, Rational{1}, 0});
    notes.push_back({48, Rational{i}, Rational{1}, 1});
  }
  Score s = by_hand::score(notes, {Role::right_hand, Role::left_hand});
  s.hymn = true;
  for (int bar = 0; bar < 2; ++bar) {
    Direction end;
    end.kind = Direction::Kind::line_end;
    end.bar = bar;
    end.at = Rational{4};
    s.directions.push_back(end);
  }
  return s;
}

TEST(Touch, HymnRepeatsItsTuneTiesWithinTheLineAndTakesTheBassByTheBeat) {
  const Score s = hymn();
  EXPECT_THAT(strokes(s, 72), ElementsAre(Pair(0, 1 - gap), Pair(1, 2 - gap), Pair(2, 3 - gap), Pair(3, 3.75),
                                          Pair(4, 5 - gap), Pair(5, 6 - gap), Pair(6, 7 - gap), Pair(7, 7.75)));
  EXPECT_THAT(strokes(s, 64), ElementsAre(Pair(0, 3.75), Pair(4, 7.75)));
  EXPECT_THAT(strokes(s, 48), ElementsAre(Pair(0, 2 - gap), Pair(2, 3.75), Pair(4, 6 - gap), Pair(6, 7.75)));
}

TEST(Touch, IsSet) {
  const Score s = hymn();
  const auto touch = parse_touch("tune=tie, bass=repeat,lift=0");
  ASSERT_TRUE(touch);
  EXPECT_EQ(touch->inner, Repeat::tie);
  // Never shorter than the action's own time.
  EXPECT_THAT(strokes(s, 72, *touch), ElementsAre(Pair(0, 4 - gap), Pair(4, 8 - gap)));
  EXPECT_EQ(strokes(s, 48, *touch).size(), 8U);
  EXPECT_EQ(*parse_touch(words(*touch)), *touch);
  EXPECT_THAT(parse_touch("alto=tie").error().message, HasSubstr("alto"));
  EXPECT_THAT(parse_touch("tune=often").error().message, HasSubstr("repeat, tie or beat"));
  EXPECT_THAT(parse_touch("lift=9").error().message, HasSubstr("0 to 2 crotchets"));
}

TEST(Touch, AKeySharedByTwoVoicesIsPressedOnce) {
  const Score together = by_hand::score({{60, Rational{0}, Rational{2}, 0}, {60, Rational{0}, Rational{1}, 1}},
                                        {Role::right_hand, Role::left_hand});
  EXPECT_THAT(strokes(together, 60), ElementsAre(Pair(0, 2)));
  const Score held = by_hand::score({{60, Rational{0}, Rational{4}, 0}, {60, Rational{1}, Rational{1}, 1}},
                                    {Role::right_hand, Role::left_hand});
  EXPECT_THAT(strokes(held, 60), ElementsAre(Pair(0, 4)));
  const Score handed_over = by_hand::score({{60, Rational{0}, Rational{1}, 0}, {60, Rational{1}, Rational{1}, 1}},
                                           {Role::right_hand, Role::left_hand});
  EXPECT_THAT(strokes(handed_over, 60), ElementsAre(Pair(0, 1 - gap), Pair(1, 2)));
}

TEST(Touch, WhatTheActionCannotRepeatIsHeld) {
  const Score s = by_hand::score(by_hand::line({60, 60, 60}, Rational{1, 4}), {Role::right_hand});
  EXPECT_EQ(strokes(s, 60, {}, {}, 120).size(), 3U);  // an eighth of a second each
  EXPECT_EQ(strokes(s, 60, {}, {}, 130).size(), 2U);  // it can follow every second one
  EXPECT_EQ(strokes(s, 60, {}, {}, 260).size(), 1U);
}

TEST(Touch, NoLiftIsShorterThanTheActionNeeds) {
  Random random{5};
  for (int trial = 0; trial < 200; ++trial) {
    std::vector<by_hand::Played> notes;
    for (int i = 0; i < 40; ++i) {
      notes.push_back(
          {60 + random.below(3), Rational{random.below(64), 8}, Rational{1 + random.below(8), 8}, random.below(2)});
    }
    Score s = by_hand::score(notes, {Role::right_hand, Role::left_hand});
    s.hymn = trial % 2 == 0;
    for (WrittenNote& n : s.notes) n.staccato = random.below(3) == 0;
    for (int key = 60; key < 63; ++key) {
      const auto held = strokes(s, key, {}, {}, 90);
      for (std::size_t i = 0; i + 1 < held.size(); ++i) {
        ASSERT_LE(held[i].second, held[i + 1].first - gap + 1e-9) << trial;
        ASSERT_LT(held[i].first, held[i].second);
      }
    }
  }
}

// The left foot alone has to leap; two feet join the same notes.
TEST(Touch, AFootThatMustLeaveAKeyLetsItGoEarly) {
  const Score s = by_hand::score(by_hand::line({43, 50, 45, 52}, Rational{1}), {Role::feet});
  const Tempo tempo(s, 60);
  const auto touch_of = [&](FeetStyle style) {
    FeetWishes wishes;
    wishes.style = style;
    const auto pedalling = solve_feet(s, by_hand::village(), default_player(), tempo, wishes);
    EXPECT_TRUE(pedalling);
    return feet_touch(*pedalling, pedal_part(s, tempo));
  };
  EXPECT_THAT(touch_of(FeetStyle::legato).let_go_early, testing::IsEmpty());
  const FeetTouch one_foot = touch_of(FeetStyle::left_foot_only);
  EXPECT_THAT(one_foot.let_go_early, ElementsAre(0, 1, 2));
  EXPECT_THAT(strokes(s, 43, {}, one_foot), ElementsAre(Pair(0, 0.85)));
  EXPECT_THAT(strokes(s, 52, {}, one_foot), ElementsAre(Pair(3, 4)));
}

TEST(Touch, NotesTheFeetLeaveOutAreNotHeard) {
  const Score s = by_hand::score(by_hand::line({43, 50}, Rational{1}), {Role::feet});
  FeetTouch feet;
  feet.left_out = {1};
  EXPECT_TRUE(strokes(s, 50, {}, feet).empty());
}

}  // namespace
}  // namespace calcant
