#include "engine/sound/oscillator.hpp"

#include <cmath>

namespace calcant {
namespace {

// sin(2 pi x) for |x| <= 1/4 by its series, to the last bit or two of a double and the same on every machine:
// the turn of a piece is applied a million times an hour, and its length must stay 1.
double sine_quarter(double x) {
  const double y = x * 6.283185307179586;
  const double z = y * y;
  double term = y;
  double sum = y;
  for (int k = 1; k <= 11; ++k) {
    term *= -z / ((2.0 * k) * (2.0 * k + 1.0));
    sum += term;
  }
  return sum;
}

double sine_cycles(double x) {
  x -= std::nearbyint(x);  // -1/2 .. 1/2
  if (x > 0.25) x = 0.5 - x;
  if (x < -0.25) x = -0.5 - x;
  return sine_quarter(x);
}

double cosine_cycles(double x) { return sine_cycles(x + 0.25); }

}  // namespace

Oscillator::Oscillator(double phase, double cycles) : sine_(sine_cycles(phase)), cosine_(cosine_cycles(phase)) {
  retune(cycles);
}

void Oscillator::retune(double cycles) {
  for (int i = 0; i < lanes; ++i) {
    lane_sine_[i] = static_cast<float>(sine_cycles(cycles * i));
    lane_cosine_[i] = static_cast<float>(cosine_cycles(cycles * i));
  }
  turn_sine_ = static_cast<float>(sine_cycles(cycles * lanes));
  turn_cosine_ = static_cast<float>(cosine_cycles(cycles * lanes));
  piece_sine_ = sine_cycles(cycles * piece);
  piece_cosine_ = cosine_cycles(cycles * piece);
}

// Eight neighbouring samples stand in eight lanes and are turned together, eight samples at a time. A piece
// is eight turns, so the rounding of single precision stays far below hearing; the place between pieces is
// kept in double precision.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__) && \
    !defined(__SANITIZE_THREAD__)
__attribute__((target_clones("default", "arch=x86-64-v3")))
#endif
void Oscillator::add(float from, float to, float* out) {
  float s[lanes];
  float c[lanes];
  float a[lanes];
  const auto s0 = static_cast<float>(sine_);
  const auto c0 = static_cast<float>(cosine_);
  const float step = (to - from) / piece;
  for (int i = 0; i < lanes; ++i) {
    s[i] = s0 * lane_cosine_[i] + c0 * lane_sine_[i];
    c[i] = c0 * lane_cosine_[i] - s0 * lane_sine_[i];
    a[i] = from + step * static_cast<float>(i);
  }
  const float a_turn = step * lanes;
  for (int block = 0; block < piece / lanes; ++block) {
    float* o = out + block * lanes;
    for (int i = 0; i < lanes; ++i) {
      o[i] += a[i] * s[i];
      const float s_next = s[i] * turn_cosine_ + c[i] * turn_sine_;
      c[i] = c[i] * turn_cosine_ - s[i] * turn_sine_;
      s[i] = s_next;
      a[i] += a_turn;
    }
  }
  const double next = sine_ * piece_cosine_ + cosine_ * piece_sine_;
  cosine_ = cosine_ * piece_cosine_ - sine_ * piece_sine_;
  sine_ = next;
}

}  // namespace calcant
