// Plans on the village demo: what they lead to, that two hands can carry them out, and that a planted fault is caught.
#include "engine/plan/plan.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "engine/plan/check.hpp"
#include "engine/plan/check_music.hpp"
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

TEST_F(HymnPlan, LastVerseKeepsTheDiapasons) {
  const Plan plan = planned(hymn(6));
  const auto& sections = plan.items[0].sections;
  const auto open = *stop_by_id(organ_, "gt-open");
  EXPECT_TRUE(sections[1].drawn.stops[static_cast<std::size_t>(open)]);
  EXPECT_TRUE(sections[6].drawn.stops[static_cast<std::size_t>(open)]);
  EXPECT_GT(*sections[6].loudness, *sections[5].loudness);
}

TEST_F(HymnPlan, PlayOverMayHaveItsOwnRegistration) {
  Hymn h = hymn(3);
  h.over = parse_verse("quiet");
  h.verses[0] = parse_verse("full");
  const Plan plan = planned(h);
  EXPECT_THAT(check(organ_, plan), testing::IsEmpty());
  EXPECT_THAT(check_hymn(organ_, plan, 0, h, default_player()), testing::IsEmpty());
  EXPECT_LT(*plan.items[0].sections[0].loudness, *plan.items[0].sections[1].loudness);
}

TEST_F(HymnPlan, KeepsWhatIsFixedAndPlansRoundIt) {
  Hymn h = hymn(4);
  FixedState fixed;
  fixed.drawn.box.fill(1);
  fixed.drawn.stops.set(static_cast<std::size_t>(*stop_by_id(organ_, "gt-open")));
  fixed.drawn.stops.set(static_cast<std::size_t>(*stop_by_id(organ_, "sw-oboe")));
  h.verses[1].fixed = fixed;
  LineCue line;
  line.after_line = 2;
  line.change.draw = {{Knob::Kind::stop, *stop_by_id(organ_, "sw-celeste")}};
  h.verses[3].cues = {line};
  const Plan plan = planned(h);
  EXPECT_THAT(check(organ_, plan), testing::IsEmpty());
  EXPECT_THAT(check_hymn(organ_, plan, 0, h, default_player()), testing::IsEmpty());
  const auto& sections = plan.items[0].sections;
  ASSERT_EQ(sections.size(), 6U);
  EXPECT_EQ(sections[2].drawn, fixed.drawn);
  EXPECT_TRUE(sections[2].fixed);
  EXPECT_EQ(sections[5].label, "Verse 4, line 3");
  EXPECT_EQ(sections[5].from.line, 3);
  EXPECT_TRUE(sections[5].drawn.stops[static_cast<std::size_t>(line.change.draw[0].index)]);
  EXPECT_TRUE(plan.cues.back().fixed);
  EXPECT_EQ(plan.cues.back().moment.line, 2);
}

TEST_F(HymnPlan, ForbiddenStopsAreNeverDrawn) {
  VocabularyWish wish;
  wish.never = {{Knob::Kind::stop, *stop_by_id(organ_, "gt-open")},
                {Knob::Kind::coupler, *coupler_by_id(organ_, "sw-gt")}};
  Plan plan;
  const Hymn h = hymn(3);
  ASSERT_TRUE(plan_hymn(plan, organ_, listening_, h, default_player(), wish, {}));
  EXPECT_THAT(check_wishes(organ_, plan, 0, wish), testing::IsEmpty());
  wish.never = {{Knob::Kind::stop, *stop_by_id(organ_, "pd-bourdon")}};
  for (const Knob k : knobs(organ_, plan.items[0].sections[0].drawn)) wish.never.push_back(k);
  EXPECT_THAT(check_wishes(organ_, plan, 0, wish), testing::Not(testing::IsEmpty()));
}

TEST_F(HymnPlan, WhatWasSaidMovesTheLevel) {
  Hymn h = hymn(2);
  const double before = planned(h).items[0].sections[1].loudness->value();
  for (Verse& v : h.verses) v.correction = Phons{-4.5};
  EXPECT_LT(planned(h).items[0].sections[1].loudness->value(), before - 1);
}

TEST_F(HymnPlan, PsalmMayChangeAtTheHalfVerse) {
  Hymn h = hymn(3);
  h.kind = ItemKind::psalm;
  h.lines = 2;
  h.bass = Bass::hands;
  h.verses[1] = parse_verse("hushed | full");
  const Plan plan = planned(h);
  EXPECT_THAT(check(organ_, plan), testing::IsEmpty());
  EXPECT_THAT(check_hymn(organ_, plan, 0, h, default_player()), testing::IsEmpty());
  const auto& sections = plan.items[0].sections;
  ASSERT_EQ(sections.size(), 5U);
  EXPECT_EQ(sections[3].label, "Verse 2, second half");
  EXPECT_EQ(sections[3].from.line, 2);
  EXPECT_EQ(sections[3].from.verse, 2);
}

TEST_F(HymnPlan, PaperPieceIsPlannedPlaceByPlace) {
  Hymn h = hymn(3);
  h.kind = ItemKind::piece;
  h.play_over = PlayOver::none;
  h.verses = {parse_verse("p"), parse_verse("ff"), parse_verse("pp")};
  h.verses[0].label = "p. 1";
  h.verses[1].label = "p. 2, system 1";
  h.verses[1].before = Seconds{2};
  h.verses[2].label = "p. 3, bar 60";
  const Plan plan = planned(h);
  EXPECT_THAT(check(organ_, plan), testing::IsEmpty());
  EXPECT_THAT(check_hymn(organ_, plan, 0, h, default_player()), testing::IsEmpty());
  const auto& sections = plan.items[0].sections;
  ASSERT_EQ(sections.size(), 3U);
  EXPECT_EQ(sections[1].label, "p. 2, system 1");
  EXPECT_LT(*sections[0].loudness, *sections[1].loudness);
  EXPECT_LT(*sections[2].loudness, *sections[1].loudness);
}

}  // namespace
}  // namespace calcant
