#include "engine/playing/feet.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "engine/playing/by_hand_test.hpp"

namespace calcant {
namespace {

using by_hand::line;

Pedalling solved(const Score& s, const FeetWishes& wishes = {}, const Organ& organ = by_hand::village()) {
  Result<Pedalling> r = solve_feet(s, organ, default_player(), Tempo(s, 80), wishes);
  EXPECT_TRUE(r) << (r ? "" : sentence(r.error()));
  return r.value_or(Pedalling{});
}

std::string signs(const Pedalling& p) {
  std::string out;
  for (const FootMark& m : p.marks) {
    if (m.held) continue;
    out += out.empty() ? "" : " ";
    out += m.use.foot == Foot::left ? "L" : "R";
    out += m.use.part == FootPart::toe ? "^" : "o";
  }
  return out;
}

// Alternate toes where the line leaps about the middle: every method's first page (Stainer 1877 begins so).
TEST(Feet, AlternatesToesOnBrokenChords) {
  const Score s = by_hand::score(line({43, 50, 45, 52, 47, 54, 48, 55}, Rational{1}), {Role::feet});
  EXPECT_EQ(signs(solved(s)), "L^ R^ L^ R^ L^ R^ L^ R^");
}

// Heel and toe of one foot for steps at the ends of the board (rule of the methods, from memory).
TEST(Feet, TakesStepsAtTheEndsWithHeelAndToeOfOneFoot) {
  const Pedalling low = solved(by_hand::score(line({36, 38, 40, 41}, Rational{1}), {Role::feet}));
  for (const FootMark& m : low.marks) EXPECT_EQ(m.use.foot, Foot::left);
  const Pedalling high = solved(by_hand::score(line({65, 64, 62, 60}, Rational{1}), {Role::feet}));
  for (const FootMark& m : high.marks) EXPECT_EQ(m.use.foot, Foot::right);
  EXPECT_THAT(signs(high), testing::HasSubstr("Ro"));
}

TEST(Feet, NeverAHeelOnASharpUnlessThePlayerDoes) {
  const Score s = by_hand::score(line({42, 44, 46, 44, 42, 44, 42}, Rational{1}), {Role::feet});
  for (const FootMark& m : solved(s).marks) EXPECT_EQ(m.use.part, FootPart::toe);
}

TEST(Feet, ToesOnlyAndLeftFootOnly) {
  const Score s = by_hand::score(line({48, 50, 52, 53, 55, 53, 52, 50, 48}, Rational{1}), {Role::feet});
  FeetWishes w;
  w.style = FeetStyle::toes;
  for (const FootMark& m : solved(s, w).marks) EXPECT_EQ(m.use.part, FootPart::toe);
  w.style = FeetStyle::left_foot_only;
  for (const FootMark& m : solved(s, w).marks) EXPECT_EQ(m.use.foot, Foot::left);
}

TEST(Feet, TheFootOnTheSwellPedalIsNotOnTheBoard) {
  const Score s = by_hand::score(line({48, 55, 50, 57, 52, 59, 53, 60}, Rational{1}), {Role::feet});
  FeetWishes w;
  w.busy = {{Foot::right, Rational{2}, Rational{5}}};
  for (const FootMark& m : solved(s, w).marks) {
    EXPECT_TRUE(m.onset < Rational{2} || m.onset >= Rational{5} || m.use.foot == Foot::left);
  }
}

TEST(Feet, AFixedMarkIsKeptAndTheRestSolvedRoundIt) {
  const Score s = by_hand::score(line({43, 50, 45, 52, 47, 54}, Rational{1}), {Role::feet});
  FeetWishes w;
  w.fixed = {{3, Foot::left, FootPart::toe}};
  const Pedalling p = solved(s, w);
  EXPECT_EQ(p.marks[3].use, (FootUse{Foot::left, FootPart::toe}));
  EXPECT_TRUE(p.marks[3].fixed);
  FeetWishes free;
  free.margin = 1000;
  const Pedalling before = solved(s, free);
  EXPECT_EQ(before.marks[3].use.foot, Foot::right);
  const auto& others = before.marks[3].others;
  const auto left_toe = std::find_if(others.begin(), others.end(), [](const FootMark::Other& o) {
    return o.use == FootUse{Foot::left, FootPart::toe};
  });
  ASSERT_NE(left_toe, others.end());
  EXPECT_NEAR(p.cost, before.cost + left_toe->dearer, 1e-9);  // all the rest is as cheap as the mark allows
  w.fixed = {{77, Foot::left, std::nullopt}};
  EXPECT_FALSE(solve_feet(s, by_hand::village(), default_player(), Tempo(s, 80), w));
}

// Two notes at once: each foot its own half; three: a third under one foot.
TEST(Feet, DoublePedal) {
  const Score two = by_hand::score({{43, Rational{0}, Rational{4}}, {55, Rational{0}, Rational{4}}}, {Role::feet});
  EXPECT_EQ(signs(solved(two)), "L^ R^");
  const Score three = by_hand::score(
      {{40, Rational{0}, Rational{4}}, {43, Rational{0}, Rational{4}}, {55, Rational{0}, Rational{4}}}, {Role::feet});
  const Pedalling p = solved(three);
  EXPECT_EQ(p.marks[0].use.foot, Foot::left);
  EXPECT_EQ(p.marks[1].use.foot, Foot::left);
  EXPECT_NE(p.marks[0].use.part, p.marks[1].use.part);
  EXPECT_EQ(p.marks[2].use.foot, Foot::right);
  EXPECT_TRUE(p.remarks.empty() || p.remarks[0].find("let go") == std::string::npos);
}

TEST(Feet, TellsWhenAKeyMustBeLetGo) {
  const Score s = by_hand::score(
      {{36, Rational{0}, Rational{4}}, {48, Rational{0}, Rational{4}}, {60, Rational{0}, Rational{4}}}, {Role::feet});
  EXPECT_THAT(solved(s).remarks, testing::Contains(testing::HasSubstr("let go")));
}

TEST(Feet, ChangesOnALongTiedNoteStandAtItsLastWrittenNote) {
  // G held long by the heel that reached it, then E and F below by the same side: the change frees the left foot.
  const Score s = by_hand::score({{42, Rational{0}, Rational{4}},
                                  {43, Rational{4}, Rational{4}, 0, false, true},
                                  {43, Rational{8}, Rational{4}, 0, true, false},
                                  {36, Rational{12}, Rational{2}}},
                                 {Role::feet});
  FeetWishes w;
  w.fixed = {{1, Foot::left, FootPart::heel}, {3, Foot::left, FootPart::toe}};
  const Pedalling p = solved(s, w);
  ASSERT_EQ(p.marks.size(), 4U);
  EXPECT_TRUE(p.marks[2].held);
  EXPECT_EQ(p.marks[2].use.foot, Foot::right);
  EXPECT_FALSE(p.marks[2].obvious);
}

TEST(Feet, SimplifiedKeepsLongNotesAndChangesOfHarmony) {
  // Running eighths under two chords of two quarters each.
  std::vector<by_hand::Played> notes;
  for (const int m : {60, 64, 67}) notes.push_back({m, Rational{0}, Rational{2}, 0});
  for (const int m : {59, 62, 67}) notes.push_back({m, Rational{2}, Rational{2}, 0});
  const std::vector<int> bass{48, 50, 52, 53, 55, 53, 52, 50};
  for (std::size_t i = 0; i < bass.size(); ++i) {
    notes.push_back({bass[i], Rational{static_cast<std::int64_t>(i), 2}, Rational{1, 2}, 1});
  }
  notes.push_back({48, Rational{4}, Rational{4}, 1});
  const Score s = by_hand::score(notes, {Role::right_hand, Role::feet});
  FeetWishes w;
  w.style = FeetStyle::simplified;
  const Pedalling p = solved(s, w);
  ASSERT_EQ(p.marks.size(), 3U);
  EXPECT_EQ(p.marks[1].onset, Rational{2});
  EXPECT_EQ(p.left_out.size(), 6U);
}

TEST(Feet, PrintsFewMarks) {
  const Score s = by_hand::score(line({43, 50, 45, 52, 47, 54, 48, 55, 43, 50}, Rational{1}), {Role::feet});
  int printed = 0;
  for (const FootMark& m : solved(s).marks) printed += !m.obvious;
  EXPECT_LE(printed, 2);
}

TEST(Feet, RepeatsAreMarkedOnce) {
  Score s = by_hand::score(line({43, 50, 45, 52}, Rational{1}), {Role::feet});
  s.turns.push_back({0, 2, Rational{4}});
  const Pedalling p = solved(s);
  EXPECT_EQ(p.marks.size(), 4U);
  FeetWishes w;
  w.busy = {{Foot::right, Rational{4}, Rational{8}}};  // the second time only
  for (const FootMark& m : solved(s, w).marks) EXPECT_EQ(m.use.foot, Foot::left);
}

TEST(Feet, NothingForTheFeetIsSaid) {
  const Score s = by_hand::score(line({60, 62}, Rational{1}), {Role::right_hand});
  const auto r = solve_feet(s, by_hand::village(), default_player(), Tempo(s, 80));
  ASSERT_FALSE(r);
  EXPECT_THAT(r.error().message, testing::HasSubstr("nothing here for the feet"));
}

TEST(Feet, TheBoardsMiddleMovesTheFeet) {
  Organ c_under_c = by_hand::village();
  c_under_c.console.pedal_under_middle_d = given(Note{53});  // the board lies far to the left: F under D
  const Score s = by_hand::score(line({51, 51, 51}, Rational{2}), {Role::feet});
  EXPECT_EQ(solved(s).marks[0].use.foot, Foot::right);
  EXPECT_EQ(solved(s, {}, c_under_c).marks[0].use.foot, Foot::left);
}

}  // namespace
}  // namespace calcant
