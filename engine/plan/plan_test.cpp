// Plans on the village demo: what they lead to, that two hands can carry them out, and that a planted fault is caught.
#include "engine/plan/plan.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "engine/plan/check.hpp"
#include "engine/plan/hymn.hpp"
#include "engine/plan/moves.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

Organ village() {
  auto folder = read_organ_folder("demo/village");
  EXPECT_TRUE(folder.has_value());
  return folder->organ;
}

class HymnPlan : public testing::Test {
 protected:
  Organ organ_ = village();
  Listening listening_{organ_, usual_condition(organ_)};

  Plan planned(const Hymn& hymn) {
    Plan plan;
    const auto done = plan_hymn(plan, organ_, listening_, hymn, default_player(), {}, {});
    EXPECT_TRUE(done.has_value());
    return plan;
  }
  static Hymn hymn(std::size_t verses) {
    Hymn h;
    h.tune = "A tune";
    h.verses.resize(verses);
    return h;
  }
};

TEST_F(HymnPlan, IsCarriedOutByTwoHandsInTime) {
  Hymn h = hymn(5);
  h.verses[1] = parse_verse("soft");
  h.verses[4] = parse_verse("full");
  const Plan plan = planned(h);
  EXPECT_THAT(check(organ_, plan), testing::IsEmpty());
  ASSERT_EQ(plan.items.size(), 1U);
  const auto& sections = plan.items[0].sections;
  ASSERT_EQ(sections.size(), 6U);                           // the play-over and five verses
  EXPECT_LT(*sections[2].loudness, *sections[1].loudness);  // soft
  for (std::size_t s = 1; s < 6; ++s) EXPECT_LE(*sections[s].loudness, *sections[5].loudness);  // full (R39)
  EXPECT_EQ(sections[0].drawn, sections[1].drawn);                                              // R38
}

TEST_F(HymnPlan, KeepsTheRulesOfPractice) {
  const Plan plan = planned(hymn(6));
  for (const Section& s : plan.items[0].sections) {
    for (const Advice& a : s.advice) EXPECT_NE(a.weight, Weight::against) << s.label << ": " << a.found;
    for (std::size_t i = 0; i < organ_.stops.size(); ++i) {
      EXPECT_FALSE(s.drawn.stops[i] && organ_.stops[i].celeste) << s.label;  // R8
    }
  }
}

TEST_F(HymnPlan, AnUnaccompaniedVerseMovesNothing) {
  Hymn h = hymn(3);
  h.verses[1] = parse_verse("unaccompanied");
  const Plan plan = planned(h);
  EXPECT_THAT(check(organ_, plan), testing::IsEmpty());
  EXPECT_EQ(plan.items[0].sections[1].drawn, plan.items[0].sections[2].drawn);
  EXPECT_FALSE(plan.items[0].sections[2].keyboards.right);
}

TEST_F(HymnPlan, WithoutPedalTheFeetAreNowhere) {
  Hymn h = hymn(3);
  h.verses[1] = parse_verse("no pedal, gentle");
  const Plan plan = planned(h);
  EXPECT_FALSE(plan.items[0].sections[2].keyboards.feet);
  EXPECT_TRUE(plan.items[0].sections[1].keyboards.feet);
}

TEST_F(HymnPlan, ChecksCatchWhatIsWrong) {
  Plan plan = planned(hymn(4));
  plan.items[0].sections[2].drawn.stops.flip(0);
  EXPECT_THAT(check(organ_, plan), testing::Contains(testing::HasSubstr("do not lead to")));

  plan = planned(hymn(4));
  Cue late;
  late.item = 0;
  late.section = 0;
  late.window = ChangeWindow{{}, {}, Seconds{3}, Seconds{1}};
  plan.cues.insert(plan.cues.begin(), late);
  EXPECT_THAT(check(organ_, plan), testing::Contains(testing::HasSubstr("3.0 s are needed")));

  plan = planned(hymn(1));
  plan.initial.box[0] = plan.items[0].sections[0].drawn.box[0] = 0.7F;
  EXPECT_THAT(check(organ_, plan), testing::Contains(testing::HasSubstr("does not rest")));
}

TEST(Verse, IsReadFromWords) {
  EXPECT_EQ(parse_verse("no pedal").kind, VerseKind::no_pedal);
  EXPECT_EQ(parse_verse("Unison, praise").kind, VerseKind::unison);
  EXPECT_EQ(parse_verse("Unison, praise").wish, "praise");
  EXPECT_EQ(parse_verse("like thunder").wish, "like thunder");
  EXPECT_FALSE(share_of("like thunder"));
  EXPECT_LT(*share_of("soft"), *share_of("full"));
}

// By hand: two knobs right and one left, 1.5 s for the first and 0.5 s more for the second (player's defaults).
TEST(Moves, AreCountedByHandAndSide) {
  Organ organ = village();
  std::vector<Knob> left;
  std::vector<Knob> right;
  for (std::size_t i = 0; i < organ.stops.size(); ++i) {
    const Knob k{Knob::Kind::stop, static_cast<int>(i)};
    if (organ.stops[i].place.jamb == Jamb::left) left.push_back(k);
    if (organ.stops[i].place.jamb == Jamb::right) right.push_back(k);
  }
  ASSERT_GE(left.size(), 1U);
  ASSERT_GE(right.size(), 2U);
  Registration to;
  set_drawn(to, right[0], true);
  set_drawn(to, right[1], true);
  const Player player = default_player();
  const Move one = move_for(organ, {}, to, player, {Seconds{0}, Seconds{2}, Seconds{0}});
  EXPECT_EQ(one.mover, Mover::right_hand);
  EXPECT_DOUBLE_EQ(one.needed.value(), 2.0);
  EXPECT_EQ(one.lacking(), Seconds{0});
  set_drawn(to, left[0], true);
  const Move two = move_for(organ, {}, to, player, {Seconds{1}, Seconds{2}, Seconds{0}});
  EXPECT_EQ(two.mover, Mover::both_hands);
  EXPECT_DOUBLE_EQ(two.lacking().value(), 0.5);  // the left hand has 1 s for 1.5 s
}

// Brute force over every path of a small random-looking table.
TEST(CheapestPath, IsTheCheapestOfAll) {
  const std::vector<std::size_t> sizes{3, 4, 3};
  const auto own = [](std::size_t s, std::size_t i) { return static_cast<double>((7 * s + 5 * i * i) % 11); };
  const auto step = [](std::size_t s, std::size_t i, std::size_t j) {
    return static_cast<double>((3 * s + 4 * i + 9 * j) % 7);
  };
  double best = 1e9;
  for (std::size_t a = 0; a < 3; ++a) {
    for (std::size_t b = 0; b < 4; ++b) {
      for (std::size_t c = 0; c < 3; ++c) {
        best = std::min(best, own(0, a) + own(1, b) + own(2, c) + step(1, a, b) + step(2, b, c));
      }
    }
  }
  const auto p = cheapest_path(sizes, own, step);
  EXPECT_EQ(own(0, p[0]) + own(1, p[1]) + own(2, p[2]) + step(1, p[0], p[1]) + step(2, p[1], p[2]), best);
}

}  // namespace
}  // namespace calcant
