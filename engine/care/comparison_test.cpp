#include "engine/care/comparison.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "engine/quantity/random.hpp"

namespace calcant {
namespace {

OneMeasuring measuring(double celsius, Random& r, double spread = 0.1) {
  OneMeasuring m;
  m.date = "2026-01-01";
  m.temperature = Celsius{celsius};
  m.place = "nave, row 3";
  for (int midi = 36; midi < 92; ++midi) {
    OneMeasuring::Pipe p;
    p.key = Note{midi};
    p.state = "speaks";
    p.in_run = Cents{3.0 * std::sin(midi) + spread * r.normal()};
    p.in_run_95 = Cents{1.96 * spread};
    p.cents = Cents{p.in_run->value() - 4.0};
    p.cents_95 = Cents{1.6};
    p.level = Decibels{std::cos(midi)};
    p.level_95 = Decibels{0.3};
    p.speech_ms = 40.0;
    m.pipes.push_back(p);
  }
  return m;
}

TEST(Comparison, NeverWithoutBothTemperatures) {
  Random r{1};
  const OneMeasuring a = measuring(10, r);
  OneMeasuring b = measuring(15, r);
  b.temperature.reset();
  b.date = "2026-07-01";
  const auto refused = compare(a, b);
  ASSERT_FALSE(refused);
  EXPECT_THAT(refused.error().message, testing::HasSubstr("2026-07-01"));
  EXPECT_FALSE(compare(b, a));
}

// The interval over all notes together: of 400 pairs in which nothing changed, one in twenty may show something (binomial,
// four standard deviations: 37); and what changed by much more than the width is found.
TEST(Comparison, UnchangedStopsShowNothingFarMoreOftenThanNot) {
  Random r{2};
  int shown = 0;
  for (int i = 0; i < 400; ++i) {
    const auto c = compare(measuring(12, r), measuring(12, r));
    ASSERT_TRUE(c);
    shown += std::ranges::any_of(c->notes, [](const ComparedNote& n) { return n.changed(); });
  }
  EXPECT_LE(shown, 37);
  EXPECT_GE(shown, 4);  // nor may the widening be so wide that nothing ever shows
}

TEST(Comparison, WhatChangedIsTold) {
  Random r{3};
  const OneMeasuring a = measuring(12, r);
  OneMeasuring b = measuring(12, r);
  *b.pipes[10].in_run += Cents{2.0};
  b.pipes[11].state = "dead";
  b.pipes[11].in_run.reset();
  *b.pipes[12].level += Decibels{4.5};
  for (auto& p : b.pipes)
    if (p.cents) *p.cents += Cents{7.0};
  const auto c = compare(a, b);
  ASSERT_TRUE(c);
  EXPECT_TRUE(c->notes[10].pitch->sure);
  EXPECT_NEAR(c->notes[10].pitch->by, 2.0, 0.6);
  EXPECT_TRUE(c->notes[11].changed());
  EXPECT_TRUE(c->notes[12].level->sure);
  EXPECT_TRUE(c->whole->sure);
  EXPECT_NEAR(c->whole->by, 7.0, 0.3);
  EXPECT_EQ(std::ranges::count_if(c->notes, [](const ComparedNote& n) { return n.changed(); }), 3);
  EXPECT_FALSE(c->notes[0].speech);  // no close microphone

  b.place = "gallery";
  const auto elsewhere = compare(a, b);
  EXPECT_FALSE(elsewhere->notes[12].level);
  EXPECT_THAT(elsewhere->remarks, testing::Contains(testing::HasSubstr("Levels are not compared")));
}

// A flue from 12 to 25 C goes up by 39 cents (warm-air heating of a Sunday, measured; reference/trade.md 3.5 [C], and
// 865.6/T cents a kelvin): 3.0 a kelvin, share 1. A reed that follows it by a third has that share.
TEST(Warmth, FluesAndReeds) {
  const auto flue = warmth({{Celsius{12}, Cents{0}, Cents{0.1}}, {Celsius{25}, Cents{39}, Cents{0.1}}});
  ASSERT_TRUE(flue);
  EXPECT_NEAR(flue->per_kelvin.value(), 3.0, 1e-9);
  EXPECT_NEAR(flue->flue_share, 1.0, 0.02);
  // Both temperatures known to half a kelvin: 0.5 * sqrt(2) / 13 of 3 cents.
  EXPECT_NEAR(flue->per_kelvin_95.value(), 3.0 * 0.5 * std::sqrt(2.0) / 13.0, 0.02);
  const auto reed = warmth({{Celsius{8}, Cents{-10}, Cents{0.1}},
                            {Celsius{14}, Cents{-4}, Cents{0.1}},
                            {Celsius{20}, Cents{2}, Cents{0.1}}});
  EXPECT_NEAR(reed->flue_share, 1.0 / 3.0, 0.02);
  EXPECT_EQ(reed->measurings, 3);
}

TEST(Warmth, ScatterWidensAndTooLittleIsRefused) {
  // Off the line by 3, -6, 3 cents: t(1) 12.706, residual sd sqrt(54), sum of squares 72.
  const auto rough = warmth(
      {{Celsius{8}, Cents{3}, Cents{0.1}}, {Celsius{14}, Cents{12}, Cents{0.1}}, {Celsius{20}, Cents{39}, Cents{0.1}}});
  ASSERT_TRUE(rough);
  EXPECT_NEAR(rough->per_kelvin.value(), 3.0, 1e-9);
  EXPECT_NEAR(rough->per_kelvin_95.value(), 12.706 * std::sqrt(54.0 / 72.0), 0.01);
  EXPECT_FALSE(warmth({{Celsius{8}, Cents{3}, Cents{0.1}}}));
  EXPECT_FALSE(warmth({{Celsius{8}, Cents{3}, Cents{0.1}}, {Celsius{10}, Cents{9}, Cents{0.1}}}));
}

}  // namespace
}  // namespace calcant
