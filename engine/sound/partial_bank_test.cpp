#include "engine/sound/partial_bank.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace calcant {
namespace {

constexpr int piece = PartialBank::piece;

// Against the C library's sine, three minutes long.
TEST(PartialBank, IsASineForMinutesOnEnd) {
  for (const double hz : {16.35, 65.4, 440.0, 3000.0, 4186.0, 15000.0}) {
    const double cycles = hz / 48000.0;
    PartialBank bank;
    bank.add(0.3, cycles);
    double worst = 0;
    const float one = 1;
    std::array<float, piece> out{};
    for (int block = 0; block < 3 * 60 * 48000 / piece; ++block) {
      bank.sum(&one, &one, out.data());
      if (block % 1000 != 0) continue;
      for (int i = 0; i < piece; ++i) {
        const double at = 0.3 + cycles * (static_cast<double>(block) * piece + i);
        const double want = std::sin(2 * std::numbers::pi * (at - std::floor(at)));
        worst = std::max(worst, std::abs(want - static_cast<double>(out[static_cast<std::size_t>(i)])));
      }
    }
    EXPECT_LT(20 * std::log10(worst), -120) << hz;  // of full amplitude
  }
}

TEST(PartialBank, AmplitudesMoveInStraightLinesEachItsOwn) {
  PartialBank bank;
  bank.add(0.25, 0.0);  // stand at the top of their swing
  bank.add(0.25, 0.0);
  const std::array<float, 2> from{0, 1};
  const std::array<float, 2> to{1, 0.5F};
  std::array<float, piece> out{};
  bank.sum(from.data(), to.data(), out.data());
  for (int i = 0; i < piece; ++i) {
    EXPECT_NEAR(out[static_cast<std::size_t>(i)], i / 64.0 + 1 - 0.5 * i / 64.0, 1e-6);
  }
}

TEST(PartialBank, ShortPiecesGoOnWhereLongOnesEnd) {
  PartialBank bank;
  const double cycles = 1000.0 / 48000;
  bank.add(0.1, cycles);
  const std::array<float, 3> amount{1, 0.5F, 0.5F};
  std::array<float, piece> out{};
  bank.sum(amount.data(), amount.data(), out.data());
  bank.sum_short(amount.data(), &amount[1], out.data());
  bank.sum(&amount[1], &amount[2], out.data());
  for (int i = 0; i < piece; ++i) {
    const double want = 0.5 * std::sin(2 * std::numbers::pi * (0.1 + cycles * (piece + PartialBank::short_piece + i)));
    EXPECT_NEAR(out[static_cast<std::size_t>(i)], want, 1e-6);
  }
}

TEST(PartialBank, BendsWithoutAJump) {
  PartialBank bank;
  const double cycles = 1000.0 / 48000;
  bank.add(0, cycles);
  const float one = 1;
  std::array<float, piece> out{};
  bank.sum(&one, &one, out.data());
  bank.bend(1.01);
  bank.sum(&one, &one, out.data());
  for (int i = 0; i < piece; ++i) {
    const double want = std::sin(2 * std::numbers::pi * cycles * (piece + 1.01 * i));
    EXPECT_NEAR(out[static_cast<std::size_t>(i)], want, 1e-6);
  }
}

}  // namespace
}  // namespace calcant
