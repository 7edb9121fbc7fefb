#include "engine/sound/partial_bank.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>

#include "engine/sound/clones.hpp"

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

struct Turn {
  double sine = 0;
  double cosine = 1;
  explicit Turn(double cycles) : sine(sine_cycles(cycles)), cosine(sine_cycles(cycles + 0.25)) {}
  // Turned on by another.
  void by(const Turn& t) {
    const double s = sine * t.cosine + cosine * t.sine;
    cosine = cosine * t.cosine - sine * t.sine;
    sine = s;
  }
};

}  // namespace

inline void PartialBank::turn(Partial& p, double sine, double cosine) {
  const double next = p.sine * cosine + p.cosine * sine;
  p.cosine = p.cosine * cosine - p.sine * sine;
  p.sine = next;
}

void PartialBank::tune(Partial& p, double cycles) {
  const Turn one{cycles};
  Turn turned{0.0};
  for (int i = 0; i < 8; ++i) {
    p.lane_sine[i] = static_cast<float>(turned.sine);
    p.lane_cosine[i] = static_cast<float>(turned.cosine);
    turned.by(one);
  }
  const Turn row = turned;
  turned = Turn{0.0};
  for (std::size_t j = 0; j < 8; ++j) {
    p.row_sine[j] = static_cast<float>(turned.sine);
    p.row_cosine[j] = static_cast<float>(turned.cosine);
    if (j == short_piece / 8) {
      p.short_sine = turned.sine;
      p.short_cosine = turned.cosine;
    }
    turned.by(row);
  }
  p.piece_sine = turned.sine;
  p.piece_cosine = turned.cosine;
}

void PartialBank::add(double phase, double cycles) {
  Partial p{};
  const Turn start{phase};
  p.sine = start.sine;
  p.cosine = start.cosine;
  p.cycles = cycles;
  tune(p, cycles * bent_);
  partials_.push_back(p);
}

void PartialBank::bend(double ratio) {
  if (ratio == bent_) return;
  bent_ = ratio;
  for (Partial& p : partials_) tune(p, p.cycles * ratio);
}

// Rows in variables of their own, so that they stay in registers over all partials.
#define CALCANT_ROWS(DO) DO(0) DO(1) DO(2) DO(3) DO(4) DO(5) DO(6) DO(7)
#define CALCANT_ZERO(j) Eight row##j{};
#define CALCANT_STEADY(j) row##j += s * p.row_cosine[j] + c * p.row_sine[j];
#define CALCANT_MOVING(j)                                      \
  row##j += along * (s * p.row_cosine[j] + c * p.row_sine[j]); \
  along += eight_steps;
#define CALCANT_STORE(j) std::memcpy(out + 8 * j, &row##j, sizeof(Eight));

CALCANT_CLONES void PartialBank::sum_steady(const float* amounts, float* out) {
  CALCANT_ROWS(CALCANT_ZERO)
  const float* amount = amounts;
  for (Partial& p : partials_) {
    const float s0 = static_cast<float>(p.sine) * *amount;
    const float c0 = static_cast<float>(p.cosine) * *amount++;
    const Eight s = s0 * p.lane_cosine + c0 * p.lane_sine;
    const Eight c = c0 * p.lane_cosine - s0 * p.lane_sine;
    CALCANT_ROWS(CALCANT_STEADY)
    turn(p, p.piece_sine, p.piece_cosine);
  }
  CALCANT_ROWS(CALCANT_STORE)
}

CALCANT_CLONES void PartialBank::sum_moving(const float* from, const float* to, float* out) {
  CALCANT_ROWS(CALCANT_ZERO)
  const Eight lane{0, 1, 2, 3, 4, 5, 6, 7};
  for (Partial& p : partials_) {
    const float amount = *from++;
    const float step = (*to++ - amount) / piece;
    const auto s0 = static_cast<float>(p.sine);
    const auto c0 = static_cast<float>(p.cosine);
    const Eight s = s0 * p.lane_cosine + c0 * p.lane_sine;
    const Eight c = c0 * p.lane_cosine - s0 * p.lane_sine;
    Eight along = amount + step * lane;
    const Eight eight_steps = Eight{} + 8 * step;
    CALCANT_ROWS(CALCANT_MOVING)
    turn(p, p.piece_sine, p.piece_cosine);
  }
  CALCANT_ROWS(CALCANT_STORE)
}

CALCANT_CLONES void PartialBank::sum_short(const float* from, const float* to, float* out) {
  CALCANT_ZERO(0)
  CALCANT_ZERO(1)
  const Eight lane{0, 1, 2, 3, 4, 5, 6, 7};
  for (Partial& p : partials_) {
    const float amount = *from++;
    const float step = (*to++ - amount) / short_piece;
    const auto s0 = static_cast<float>(p.sine);
    const auto c0 = static_cast<float>(p.cosine);
    const Eight s = s0 * p.lane_cosine + c0 * p.lane_sine;
    const Eight c = c0 * p.lane_cosine - s0 * p.lane_sine;
    Eight along = amount + step * lane;
    const Eight eight_steps = Eight{} + 8 * step;
    CALCANT_MOVING(0)
    CALCANT_MOVING(1)
    turn(p, p.short_sine, p.short_cosine);
  }
  CALCANT_STORE(0)
  CALCANT_STORE(1)
}

void PartialBank::sum(const float* from, const float* to, float* out) {
  if (std::equal(from, from + partials_.size(), to)) sum_steady(from, out);  // most of a held note
  else sum_moving(from, to, out);
}

}  // namespace calcant
