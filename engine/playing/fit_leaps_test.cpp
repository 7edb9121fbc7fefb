// Leaps worked out by hand: at 80 crotchets a minute a crotchet is 0.75 s, half of which is given to the leap; two
// octaves further than a hand that spans an octave want 2 x 0.3 s.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "engine/playing/by_hand_test.hpp"
#include "engine/playing/fit.hpp"
#include "engine/playing/fit_parts.hpp"

namespace calcant {
namespace {

using by_hand::Played;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

const std::vector<Role> both_hands{Role::right_hand, Role::left_hand};

std::vector<FitFinding> leaps_of(const std::vector<Played>& notes, const Player& p = default_player(),
                                 double tempo = 80) {
  const Score s = by_hand::score(notes, both_hands);
  std::vector<FitFinding> out;
  for (const FitFinding& f : fit(s, by_hand::village(), p, Tempo(s, tempo)).findings) {
    if (f.kind == FitKind::leap) out.push_back(f);
  }
  return out;
}

TEST(Leaps, FurtherThanThereIsTimeFor) {
  const auto found = leaps_of(by_hand::line({36, 72}, Rational{1}, 1));
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].moment.at, Rational{1});
  EXPECT_EQ(found[0].note, Note{72});
  EXPECT_FALSE(found[0].hinders);
  EXPECT_EQ(found[0].message,
            "The left hand leaps 24 semitones further than it spans in 0.38 s; this player needs 0.60 s.");
  EXPECT_THAT(found[0].remedies, Contains("Let the right hand take it: it lies near."));
  EXPECT_THAT(found[0].remedies, Contains("Play it at 50 crotchets a minute or slower: there is time then."));
  // At that tempo there is; in minims, too; and for a player who is quicker.
  EXPECT_TRUE(leaps_of(by_hand::line({36, 72}, Rational{1}, 1), default_player(), 50).empty());
  EXPECT_EQ(leaps_of(by_hand::line({36, 72}, Rational{1}, 1), default_player(), 51).size(), 1U);
  EXPECT_TRUE(leaps_of(by_hand::line({36, 72}, Rational{2}, 1)).empty());
  Player quick = default_player();
  quick.leap.value = Seconds{0.18};
  EXPECT_TRUE(leaps_of(by_hand::line({36, 72}, Rational{1}, 1), quick).empty());
}

TEST(Leaps, WithinTheSpanOrByWayOfARestThereIsNone) {
  EXPECT_TRUE(leaps_of(by_hand::line({48, 60, 48, 60}, Rational{1, 4}, 1)).empty());
  std::vector<Played> rest = by_hand::line({36}, Rational{1}, 1);
  rest.push_back({72, Rational{2}, Rational{1}, 1});
  EXPECT_TRUE(leaps_of(rest).empty());
  // A hand that goes step by step is never far from where it was, however far it goes.
  EXPECT_TRUE(leaps_of(by_hand::line({36, 40, 43, 48, 52, 55, 60, 64, 67, 72}, Rational{1, 4}, 1)).empty());
}

TEST(Leaps, OverAHeldKeyIsNoLeap) {
  std::vector<Played> held = by_hand::line({48, 52, 55, 60, 67, 72}, Rational{1, 2}, 1);
  for (Played& p : held) p.length = Rational{1};  // each into the next, as in legato
  EXPECT_TRUE(leaps_of(held).empty());
}

TEST(Leaps, RemediesCanBeDone) {
  // The right hand is at the top: it has no way down either.
  std::vector<Played> far = by_hand::line({36, 60}, Rational{1}, 1);
  for (const Played& p : by_hand::line({84, 86}, Rational{1}, 0)) far.push_back(p);
  const auto found = leaps_of(far);
  ASSERT_EQ(found.size(), 0U);  // 12 semitones: 0.3 s of 0.375
  far[1].midi = 66;
  const auto further = leaps_of(far);
  ASSERT_EQ(further.size(), 1U);
  EXPECT_THAT(further[0].remedies, Not(Contains(HasSubstr("right hand"))));
  // A doubled note that makes the leap too far may go: without the upper C there is an octave to go.
  std::vector<Played> octaves{{36, Rational{0}, Rational{1}, 1},
                              {60, Rational{1}, Rational{1}, 1},
                              {72, Rational{1}, Rational{1}, 1},
                              {91, Rational{1}, Rational{1}, 0}};
  const auto doubled = leaps_of(octaves);
  ASSERT_EQ(doubled.size(), 1U);
  EXPECT_THAT(doubled[0].remedies, Contains(HasSubstr("Leave out C5: the same note sounds in another octave.")));
}

TEST(Leaps, OfARepeatAreToldOnce) {
  Score s = by_hand::score(by_hand::line({36, 72, 72, 36}, Rational{1}, 1), both_hands);
  s.turns = {{0, 1, Rational{0}}, {0, 2, Rational{4}}, {0, 3, Rational{8}}};
  const Fit f = fit(s, by_hand::village(), default_player(), Tempo(s, 80));
  ASSERT_EQ(f.findings.size(), 1U);  // to and fro, gathered
  EXPECT_EQ(f.findings[0].times, 2);
  EXPECT_THAT(f.findings[0].also_at, testing::SizeIs(1));
}

FitFinding told(int bar, std::string message, std::vector<std::string> remedies) {
  FitFinding f;
  f.kind = FitKind::swell_and_feet;
  f.moment.bar = std::to_string(bar + 1);
  f.moment.bar_index = bar;
  f.message = std::move(message);
  f.remedies = std::move(remedies);
  return f;
}

TEST(Gather, TheSameOfSeveralPlacesIsSaidOnce) {
  const Score s = by_hand::score(by_hand::line(std::vector<int>(12, 60), Rational{1}, 0), both_hands);
  std::vector<FitFinding> all{told(0, "The box.", {"From bar 2.", "Simplify."}), told(0, "A dead note.", {}),
                              told(1, "The box.", {"From bar 2.", "Simplify."}), told(2, "The box.", {"Simplify."})};
  fitting::gather(s, all);
  ASSERT_EQ(all.size(), 2U);
  EXPECT_EQ(all[0].moment.bar_index, 0);
  EXPECT_EQ(all[0].times, 3);
  ASSERT_EQ(all[0].also_at.size(), 2U);
  EXPECT_EQ(all[0].also_at[1].bar_index, 2);
  EXPECT_THAT(all[0].remedies, ElementsAre("At bar 1, beat 1 and bar 2, beat 1: From bar 2.", "Simplify."));
  EXPECT_TRUE(all[1].also_at.empty());
}

TEST(Gather, WhatHindersAndWhatDoesNotStayApart) {
  const Score s = by_hand::score(by_hand::line({60, 60}, Rational{4}, 0), both_hands);
  std::vector<FitFinding> all{told(0, "The box.", {}), told(1, "The box.", {})};
  all[1].hinders = false;
  fitting::gather(s, all);
  EXPECT_EQ(all.size(), 2U);
}

}  // namespace
}  // namespace calcant
