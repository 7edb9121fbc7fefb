// Nothing that is heard is moved within a slur (R34): on scores made by hand, and a plan that does it is found out.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "engine/plan/check.hpp"
#include "engine/plan/check_music.hpp"
#include "engine/plan/passages.hpp"
#include "engine/playing/by_hand_test.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

// Eight bars: the tune in the right hand, the left with two bars' rest before bar 5, the feet with long notes; p, and ff at
// bar 4, beat 3.
Score piece_by_hand() {
  std::vector<by_hand::Played> notes;
  for (int q = 0; q < 32; ++q) notes.push_back({67 + q % 5, Rational{q}, Rational{1}, 0});
  for (int h = 0; h < 16; ++h) {
    if (h == 6 || h == 7) continue;
    notes.push_back({55, Rational{2 * h}, Rational{2}, 1});
  }
  for (int b = 0; b < 8; ++b) notes.push_back({43, Rational{4 * b}, Rational{4}, 2});
  Score s = by_hand::score(notes, {Role::right_hand, Role::left_hand, Role::feet});
  by_hand::direct(s, Direction::Kind::dynamics, 0, "p");
  by_hand::direct(s, Direction::Kind::dynamics, 3, "ff", -1, Rational{2});
  return s;
}

// From one note of the tune to another, by quarters from the beginning.
void slur(Score& s, int from, int to) {
  for (WrittenNote& n : s.notes) {
    if (n.stave != 0) continue;
    if (n.bar * 4 + static_cast<int>(n.at.to_double()) == from) ++n.slur_starts;
    if (n.bar * 4 + static_cast<int>(n.at.to_double()) == to) ++n.slur_ends;
  }
}

class Phrases : public testing::Test {
 protected:
  Organ organ_ = read_organ_folder("demo/chapel")->organ;
  Player player_ = default_player();

  Plan planned(const Score& score) {
    const Listening listening(organ_, usual_condition(organ_));
    Piece piece;
    piece.title = "By hand";
    Plan plan;
    EXPECT_TRUE(plan_piece(plan, organ_, listening, score, piece, player_, {}, {}));
    return plan;
  }
  std::vector<std::string> found(const Plan& plan, const Score& score) {
    return check_piece(organ_, plan, 0, score, Tempo(score, assumed_tempo, std::nullopt), player_);
  }
};

TEST_F(Phrases, WhatIsAskedForWithinASlurWaitsForItsEnd) {
  Score s = piece_by_hand();
  slur(s, 12, 16);  // bar 4 to the first beat of bar 5, which is held to beat 2
  const auto parts = passages(s, organ_, {}, {});
  ASSERT_EQ(parts.size(), 3U);
  EXPECT_EQ(parts[1].from, Rational{14});
  EXPECT_TRUE(parts[1].in_slur);
  EXPECT_EQ(parts[2].from, Rational{17});
  EXPECT_TRUE(parts[2].waited);
  const Plan plan = planned(s);
  EXPECT_THAT(check(organ_, plan), testing::IsEmpty());
  EXPECT_THAT(found(plan, s), testing::IsEmpty());
  const Item& item = plan.items[0];
  ASSERT_EQ(item.sections.size(), 3U);
  EXPECT_EQ(item.sections[1].drawn.stops, item.sections[0].drawn.stops);
  EXPECT_THAT(item.remarks, testing::Contains(testing::HasSubstr("asked for within a slur")));
}

TEST_F(Phrases, AMarkWhereTheSlurHasEndedIsObeyedThere) {
  Score s = piece_by_hand();
  slur(s, 8, 13);  // its last note ends where ff begins
  const auto parts = passages(s, organ_, {}, {});
  ASSERT_EQ(parts.size(), 2U);
  EXPECT_FALSE(parts[1].in_slur);
  const Plan plan = planned(s);
  EXPECT_THAT(found(plan, s), testing::IsEmpty());
  EXPECT_GT(*plan.items[0].sections[1].loudness, *plan.items[0].sections[0].loudness);
}

TEST_F(Phrases, AChangeWithinASlurIsFoundByTheCheck) {
  const Score plain = piece_by_hand();
  const Plan plan = planned(plain);
  EXPECT_THAT(found(plan, plain), testing::IsEmpty());
  ASSERT_NE(plan.items[0].sections[1].drawn.stops, plan.items[0].sections[0].drawn.stops);
  Score slurred = plain;
  slur(slurred, 13, 15);  // the same plan, where a slur goes across its change
  EXPECT_THAT(found(plan, slurred), testing::Contains(testing::HasSubstr("within a slur")));
  Score beside = plain;
  slur(beside, 10, 13);  // and where it ends there
  EXPECT_THAT(found(plan, beside), testing::IsEmpty());
}

TEST_F(Phrases, ASlurThatNeverEndsTellsNothing) {
  Score s = piece_by_hand();
  slur(s, 2, 100);
  EXPECT_FALSE(passages(s, organ_, {}, {})[1].in_slur);
  EXPECT_THAT(found(planned(s), s), testing::IsEmpty());
}

TEST_F(Phrases, WhereNoneIsKnownItIsSaid) {
  EXPECT_THAT(planned(piece_by_hand()).items[0].remarks, testing::Contains(testing::HasSubstr("shows no phrases")));
}

}  // namespace
}  // namespace calcant
