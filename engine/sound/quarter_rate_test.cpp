#include "engine/sound/quarter_rate.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace calcant {
namespace {

constexpr std::size_t block = 256;
constexpr int blocks = 40;

// A sine at a quarter of 48 kHz, brought up, less the same sine made at the full rate: what is left, dB under full
// amplitude.
double left_over(double hz) {
  QuarterRate rate;
  std::vector<float> quarter(block / 4);
  const std::vector<float> full(block);
  std::vector<float> out(block);
  const auto sine = [&](double sample) {
    const double cycles = hz / 48000 * sample;
    return std::sin(2 * std::numbers::pi * (cycles - std::floor(cycles)));
  };
  double worst = 0;
  for (int b = 0; b < blocks; ++b) {
    const double at = static_cast<double>(b) * block;
    for (std::size_t i = 0; i < quarter.size(); ++i)
      quarter[i] = static_cast<float>(sine(at + 4.0 * static_cast<double>(i)));
    rate.join(quarter, full, out);
    for (std::size_t i = 0; i < block && b > 2; ++i) {
      worst = std::max(worst, std::abs(out[i] - sine(at + static_cast<double>(i) - QuarterRate::late)));
    }
  }
  return 20 * std::log10(worst);
}

TEST(QuarterRate, IsTheSameSineUpToItsHighest) {
  for (const double hz : {16.35, 440.0, 2000.0, 4186.0, QuarterRate::highest_hz}) EXPECT_LT(left_over(hz), -100) << hz;
  EXPECT_GT(left_over(5900), -60);  // beyond it images come through
}

TEST(QuarterRate, WhatIsAtTheFullRateComesThroughUntouched) {
  QuarterRate rate;
  const std::vector<float> quarter(block / 4);
  std::vector<float> full(block);
  std::vector<float> out(block);
  full[10] = 1;
  rate.join(quarter, full, out);
  for (std::size_t i = 0; i < block; ++i) EXPECT_EQ(out[i], i == 10 + QuarterRate::late ? 1 : 0);
}

}  // namespace
}  // namespace calcant
