#include "engine/sound/oscillator.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

namespace calcant {
namespace {

TEST(Oscillator, IsASineForMinutesOnEnd) {
  for (const double hz : {16.35, 65.4, 440.0, 4186.0, 15000.0}) {
    const double cycles = hz / 48000.0;
    Oscillator oscillator{0.3, cycles};
    double worst = 0;
    std::vector<float> out(Oscillator::piece);
    for (int block = 0; block < 3 * 60 * 48000 / Oscillator::piece; ++block) {
      std::fill(out.begin(), out.end(), 0.0F);
      oscillator.add(1, 1, out.data());
      if (block % 1000 != 0) continue;
      for (int i = 0; i < Oscillator::piece; ++i) {
        const double at = 0.3 + cycles * (static_cast<double>(block) * Oscillator::piece + i);
        const double want = std::sin(2 * std::numbers::pi * (at - std::floor(at)));
        worst = std::max(worst, std::abs(want - static_cast<double>(out[static_cast<std::size_t>(i)])));
      }
    }
    EXPECT_LT(20 * std::log10(worst), -110) << hz;  // of full amplitude
  }
}

TEST(Oscillator, AmplitudeMovesInAStraightLine) {
  Oscillator oscillator{0.25, 0.0};  // stands at the top of its swing
  std::vector<float> out(Oscillator::piece);
  oscillator.add(0, 1, out.data());
  for (int i = 0; i < Oscillator::piece; ++i) EXPECT_NEAR(out[static_cast<std::size_t>(i)], i / 64.0, 1e-6);
}

}  // namespace
}  // namespace calcant
