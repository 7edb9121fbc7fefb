#include "engine/hearing/roughness.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "engine/hearing/test_sounds.hpp"

namespace calcant {
namespace {

// The published formula (Vassilakis 2001; www.acousticslab.org, SRA model page) worked out apart for equal amplitudes.
TEST(Roughness, PairsAfterVassilakis) {
  struct {
    double f, d, r;
  } const rows[] = {{100, 20, .0903},  {250, 20, .0899},  {500, 30, .0899},
                    {1000, 30, .0888}, {1000, 70, .0698}, {2000, 50, .0899}};
  for (const auto& r : rows) EXPECT_NEAR(vassilakis(Hertz{r.f}, Hertz{r.d}, 1, 1), r.r, .00011) << r.f;
  // Greatest 19, 22, 27, 36, 55 Hz apart.
  struct {
    double f, d;
  } const peaks[] = {{100, 19}, {250, 22}, {500, 27}, {1000, 36}, {2000, 55}};
  for (const auto& p : peaks) {
    double best = 0;
    double at = 0;
    for (double d = 5; d < 100; d += .5)
      if (const double x = vassilakis(Hertz{p.f}, Hertz{d}, 1, 1); x > best) best = x, at = d;
    EXPECT_NEAR(at, p.d, 1) << p.f;
  }
  EXPECT_EQ(vassilakis(Hertz{440}, Hertz{30}, 1, 0), 0);
  EXPECT_LT(vassilakis(Hertz{440}, Hertz{30}, 1, .1), .1 * vassilakis(Hertz{440}, Hertz{30}, 1, 1));
}

// Two tones of six partials each, amplitudes 0.88^(k-1), on 261.63 Hz, all pairs; the same formula worked out apart.
TEST(Roughness, Intervals) {
  struct {
    double ratio, r;
  } const rows[] = {{16.0 / 15, .4637},           {5.0 / 4, .2012}, {std::exp2(4 / 12.0), .2329}, {3.0 / 2, .0645},
                    {std::exp2(7 / 12.0), .0751}, {2, .0114}};
  for (const auto& row : rows) {
    std::vector<std::pair<double, double>> partials;
    for (double f0 : {261.63, 261.63 * row.ratio})
      for (int k = 1; k <= 6; ++k) partials.emplace_back(f0 * k, std::pow(.88, k - 1));
    std::sort(partials.begin(), partials.end());
    double sum = 0;
    for (std::size_t i = 0; i < partials.size(); ++i)
      for (std::size_t j = i + 1; j < partials.size(); ++j)
        sum += vassilakis(Hertz{partials[i].first}, Hertz{partials[j].first - partials[i].first}, partials[i].second,
                          partials[j].second);
    EXPECT_NEAR(sum, row.r, .0006) << row.ratio;
  }
}

TEST(Roughness, RanksIntervalsAsTheEarDoes) {
  const Ear ear;
  const auto rough = [&](double ratio) {
    return roughness(ear, harmonics(261.63, 8, 60, -6) + harmonics(261.63 * ratio, 8, 60, -6))->index;
  };
  EXPECT_GT(rough(16.0 / 15), rough(5.0 / 4));
  EXPECT_GT(rough(5.0 / 4), rough(3.0 / 2));
  EXPECT_GT(rough(3.0 / 2), rough(2));
  // A tempered third is told from a pure one by its beats, not by its roughness.
  EXPECT_NEAR(rough(std::exp2(4 / 12.0)) / rough(5.0 / 4), 1, .1);
  EXPECT_TRUE(roughness(ear, harmonics(261.63, 8, 60, -6) + harmonics(261.63 * 1.25, 8, 60, -6))->beats.empty());
  EXPECT_NEAR(roughness(ear, harmonics(261.63, 8, 60, -6) + harmonics(261.63 * std::exp2(4 / 12.0), 8, 60, -6))
                  ->beats.at(0)
                  .rate.value(),
              10.38, .02);  // 4 * 329.63 - 5 * 261.63
  // Louder as a whole is not rougher: the index is relative.
  const Lines third = harmonics(261.63, 8, 60, -6) + harmonics(327, 8, 60, -6);
  Lines louder = third;
  for (Line& l : louder) l.level += Decibels{20};
  EXPECT_NEAR(roughness(ear, louder)->index / roughness(ear, third)->index, 1, .05);
}

TEST(Roughness, WhatIsNotHeardIsNotRough) {
  const Ear ear;
  const auto pair = [](double f, double db) { return tone(f, db) + tone(f + 40, db); };
  const double heard = roughness(ear, pair(1000, 70))->index;
  EXPECT_NEAR(heard, vassilakis(Hertz{1000}, Hertz{40}, 1, 1), .05 * heard);  // alone: the published figure
  EXPECT_LT(roughness(ear, pair(1000, -20))->index, .1 * heard);              // under the threshold
  EXPECT_LT(roughness(ear, tone(1400, 90) + pair(1700, 20))->index, .05 * heard);
}

TEST(Roughness, ACelesteBeatsAndDoesNotRattle) {
  const Ear ear;
  const Roughness r = *roughness(ear, harmonics(440, 3, 60, -6) + harmonics(442, 3, 58, -6));
  ASSERT_EQ(r.beats.size(), 3U);
  EXPECT_NEAR(r.beats[0].rate.value(), 2, 1e-9);
  EXPECT_NEAR(r.beats[1].rate.value(), 4, 1e-9);
  EXPECT_NEAR(r.beats[2].rate.value(), 6, 1e-9);
  EXPECT_NEAR(r.beats[0].depth.value(), -2, 1e-9);
  EXPECT_NEAR(r.beats[0].level.value(), 60, 1e-9);
  EXPECT_GT(r.beats[0].frequency, Hertz{440});
  EXPECT_LT(r.beats[0].frequency, Hertz{441});
  EXPECT_LT(r.index, 1e-4);
  EXPECT_TRUE(roughness(ear, tone(440, 60) + tone(440.1, 60))->beats.empty());
  EXPECT_TRUE(roughness(ear, tone(440, 60) + tone(442, 30))->beats.empty());
  EXPECT_EQ(roughness(ear, {})->index, 0);
  EXPECT_FALSE(roughness(ear, tone(440, std::numeric_limits<double>::quiet_NaN())));
}

}  // namespace
}  // namespace calcant
