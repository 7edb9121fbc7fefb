#include "engine/sound/quarter_rate.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "engine/sound/clones.hpp"

namespace calcant {
namespace {

constexpr std::size_t up = 4;
constexpr std::size_t taps_a_phase = 2 * QuarterRate::late / up + 1;
constexpr std::size_t run = 32;  // quarter-rate samples made at a time

// The modified Bessel function I0 by its series.
double bessel_i0(double x) {
  double term = 1;
  double sum = 1;
  for (int k = 1; k < 60; ++k) {
    term *= (x / (2.0 * k)) * (x / (2.0 * k));
    sum += term;
  }
  return sum;
}

// A low-pass at 6 kHz under a Kaiser window (Kaiser, Nonrecursive digital filter design, 1974): 110 dB of it, which this
// many taps reach over the 2 kHz between 5 and 7.
double tap(int i) {
  constexpr double beta = 0.1102 * (110 - 8.7);
  const double x = static_cast<double>(i - QuarterRate::late);
  if (std::abs(x) > QuarterRate::late) return 0;
  const double place = x / QuarterRate::late;
  const double window = bessel_i0(beta * std::sqrt(1 - place * place)) / bessel_i0(beta);
  const double turn = std::numbers::pi * x / static_cast<double>(up);
  return window * (x == 0 ? 1.0 : std::sin(turn) / turn);
}

// One phase over a run: sum over k of taps[k] * x[-k], x[1 - k] ...
CALCANT_CLONES void filter(const float* x, const float* taps, float* out) {
  std::array<float, run> sum{};
  for (std::size_t k = 0; k < taps_a_phase; ++k) {
    const float* from = x - k;
    for (std::size_t i = 0; i < run; ++i) sum[i] += taps[k] * from[i];
  }
  for (std::size_t i = 0; i < run; ++i) out[up * i] = sum[i];
}

}  // namespace

QuarterRate::QuarterRate() : quarter_(taps_a_phase - 1), full_(late) {
  for (std::size_t phase = 0; phase < up; ++phase) {
    for (std::size_t k = 0; k < taps_a_phase; ++k) {
      taps_.push_back(static_cast<float>(tap(static_cast<int>(up * k + phase))));
    }
  }
}

void QuarterRate::join(std::span<const float> quarter, std::span<const float> full, std::span<float> out) {
  const std::size_t n = quarter.size();
  quarter_.insert(quarter_.end(), quarter.begin(), quarter.end());
  full_.insert(full_.end(), full.begin(), full.end());
  for (std::size_t m = 0; m < n; m += run) {
    for (std::size_t phase = 0; phase < up; ++phase) {
      filter(&quarter_[taps_a_phase - 1 + m], &taps_[phase * taps_a_phase], &out[up * m + phase]);
    }
  }
  for (std::size_t i = 0; i < up * n; ++i) out[i] += full_[i];
  quarter_.erase(quarter_.begin(), quarter_.begin() + static_cast<long>(n));
  full_.erase(full_.begin(), full_.begin() + static_cast<long>(up * n));
}

}  // namespace calcant
