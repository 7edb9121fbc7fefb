#include "engine/sound/pipe_synth.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "engine/quantity/random.hpp"
#include "engine/sound/clones.hpp"
#include "engine/sound/quarter_rate.hpp"

namespace calcant {
namespace {

constexpr double two_pi = 2.0 * std::numbers::pi;
constexpr double rate = 48000.0;
constexpr double lowest_noise_hz = 125.0;
constexpr int noise_table_count = 14;       // half octaves from 125 Hz to 11.3 kHz
constexpr float gone = 9.21F;               // ln of 80 dB in amplitude
constexpr float nothing = 1e-5F;            // what of an attack is too little to follow
constexpr float floor_of_numbers = 1e-30F;  // keeps what dies away out of the slow smallest numbers
constexpr int piece = PartialBank::piece;   // amplitudes move in straight lines over pieces of this length
// A jet's power is pressure times flow, and its flow goes as the root of the pressure.
constexpr double amplitude_by_pressure = 0.75;
// 2 cents lower for 10 % less pressure: assumed, flues and reeds alike.
constexpr double cents_by_pressure = 19;  // times its logarithm
constexpr int slow = 256;                 // so many samples between two figures of what moves at a few hertz

// A second-order band-pass of an octave (Q = 1.41), after the audio-EQ cookbook's constant 0 dB peak form.
void band_pass(std::vector<float>& x, double centre_hz) {
  const double w = two_pi * centre_hz / rate;
  const double alpha = std::sin(w) / (2.0 * 1.41);
  const double b0 = alpha / (1.0 + alpha);
  const double a1 = -2.0 * std::cos(w) / (1.0 + alpha);
  const double a2 = (1.0 - alpha) / (1.0 + alpha);
  double x1 = 0, x2 = 0, y1 = 0, y2 = 0;
  // Once round and an eighth for the filter to come to rest, so that the table's end runs on into its beginning.
  const std::vector<float> in = x;
  const std::size_t before = in.size() / 8;
  for (std::size_t i = 0; i < in.size() + before; ++i) {
    const std::size_t at = (i + in.size() - before) % in.size();
    const double out = b0 * (in[at] - x2) - a1 * y1 - a2 * y2;
    x2 = x1;
    x1 = in[at];
    y2 = y1;
    y1 = out;
    if (i >= before) x[at] = static_cast<float>(out);
  }
}

// out += what stands on a straight line, `step` further from sample to sample, times x.
CALCANT_CLONES void add_along(const float* x, float from, float step, float* out, int count) {
  for (int i = 0; i < count; ++i) out[i] += (from + step * static_cast<float>(i)) * x[i];
}

CALCANT_CLONES void multiply(const float* a, const float* b, float* out, std::size_t n) {
  for (std::size_t i = 0; i < n; ++i) out[i] = a[i] * b[i];
}

CALCANT_CLONES void fall_on(float* left, const float* turn, std::size_t n) {
  for (std::size_t i = 0; i < n; ++i) left[i] = std::max(left[i] * turn[i], floor_of_numbers);
}

// 1 - exp(-x) and the transient surplus, from exp(-x).
CALCANT_CLONES void attack(const float* left, const float* rise, const float* surplus, float t, float* out,
                           std::size_t n) {
  constexpr auto e = static_cast<float>(std::numbers::e);
  for (std::size_t i = 0; i < n; ++i) out[i] = (1 - left[i]) + surplus[i] * (t / rise[i]) * e * left[i];
}

}  // namespace

NoiseTables::NoiseTables(std::uint64_t seed) {
  for (int band = 0; band < noise_table_count; ++band) {
    Random random{seed, static_cast<std::uint64_t>(band)};
    std::vector<float> table(length);
    for (float& v : table) v = static_cast<float>(random.uniform(-1, 1));
    band_pass(table, lowest_noise_hz * std::exp2(band / 2.0));
    double power = 0;
    for (const float v : table) power += static_cast<double>(v) * v;
    const auto scale = static_cast<float>(1.0 / std::sqrt(power / length));
    for (float& v : table) v *= scale;
    for (std::size_t i = 0; i < slow; ++i) table.push_back(table[i]);
    tables_.push_back(std::move(table));
  }
}

const std::vector<float>& NoiseTables::nearest(double centre_hz) const {
  const double place = 2.0 * std::log2(std::max(centre_hz, 1.0) / lowest_noise_hz);
  const auto band = std::clamp<long>(std::lround(place), 0, noise_table_count - 1);
  return tables_[static_cast<std::size_t>(band)];
}

double PressureCurve::at(double sample) const {
  if (points_.empty()) return 1.0;
  const auto after = std::upper_bound(points_.begin(), points_.end(), sample,
                                      [](double t, const auto& point) { return t < point.first; });
  if (after == points_.begin()) return after->second;
  const auto& [from, level] = *(after - 1);
  if (after == points_.end()) return level;
  return level + (after->second - level) * (sample - from) / (after->first - from);
}

PipeSound::PipeSound(const PipeSoundFigures& figures, std::span<const PartialSound> partials, std::vector<Shake> shakes)
    : f_(figures), shakes_(std::move(shakes)) {
  float longest = 0;
  for (const PartialSound& p : partials) {
    // They come rising.
    if (p.cycles_per_sample < QuarterRate::highest_hz / rate) low_.add(p.phase, 4 * p.cycles_per_sample);
    else high_.add(p.phase, p.cycles_per_sample);
    amplitude_.push_back(p.amplitude);
    rise_.push_back(p.rise_samples);
    fall_.push_back(p.fall_samples);
    surplus_.push_back(p.surplus);
    longest = std::max(longest, p.fall_samples);
  }
  end_ = f_.off + static_cast<std::int64_t>(std::ceil(longest * gone));
  const std::size_t n = partials.size();
  box_from_.assign(n, 1.0F);
  box_to_.assign(n, 1.0F);
  for (auto* v : {&still_to_come_, &turn_, &envelope_, &from_, &to_}) v->assign(n, 0.0F);
}

void PipeSound::set_box(std::span<const float> from, std::span<const float> to, float noise_from, float noise_to) {
  box_from_.assign(from.begin(), from.end());
  box_to_.assign(to.begin(), to.end());
  noise_box_from_ = noise_from;
  noise_box_to_ = noise_to;
  steady_ = false;
}

void PipeSound::build_up(std::int64_t at) {
  if (settled_) return;
  const auto t = static_cast<float>(at - f_.on);
  const std::size_t n = amplitude_.size();
  if (!speaking_) {
    for (std::size_t i = 0; i < n; ++i) {
      still_to_come_[i] = std::exp(-t / rise_[i]);
      turn_[i] = std::exp(-piece / rise_[i]);
    }
    speaking_ = true;
  } else {
    fall_on(still_to_come_.data(), turn_.data(), n);
  }
  attack(still_to_come_.data(), rise_.data(), surplus_.data(), t, envelope_.data(), n);
  settled_ = std::all_of(still_to_come_.begin(), still_to_come_.end(), [](float left) { return left < nothing; });
  if (settled_) std::fill(envelope_.begin(), envelope_.end(), 1.0F);
}

void PipeSound::die_away(std::int64_t at) {
  const std::size_t n = amplitude_.size();
  if (falling_) {
    fall_on(envelope_.data(), turn_.data(), n);
    return;
  }
  // What it had reached when the pallet shut falls from there.
  falling_ = true;
  const auto t = static_cast<float>(f_.off - f_.on);
  const auto since = static_cast<float>(at - f_.off);
  for (std::size_t i = 0; i < n; ++i) {
    const float left = std::exp(-t / rise_[i]);
    attack(&left, &rise_[i], &surplus_[i], t, &envelope_[i], 1);
    envelope_[i] *= std::exp(-since / fall_[i]);
    turn_[i] = std::exp(-piece / fall_[i]);
  }
}

float PipeSound::level(std::int64_t at) const {
  const auto when = static_cast<double>(at);
  double out = 1.0;
  for (std::size_t i = 0; i < 2; ++i) {
    out += f_.swing_depth[i] * std::sin(two_pi * (f_.swing_phase[i] + f_.swing_speed[i] * when));
  }
  for (const Shake& s : shakes_) {
    if (at >= s.from && at < s.to) out *= 1.0 + s.level_depth * std::sin(two_pi * (s.phase + s.speed * when));
  }
  if (f_.wind != nullptr) out *= std::pow(f_.wind->at(when), amplitude_by_pressure);
  return static_cast<float>(out);
}

double PipeSound::bend(std::int64_t at) const {
  const double middle = static_cast<double>(at) + slow / 2.0;
  double cents = f_.wander_cents * std::sin(two_pi * (f_.swing_phase[0] + 0.37 * f_.swing_speed[0] * middle));
  for (const Shake& s : shakes_) {
    if (at >= s.from && at < s.to) cents += s.pitch_depth_cents * std::sin(two_pi * (s.phase + s.speed * middle));
  }
  if (f_.wind != nullptr) cents += cents_by_pressure * std::log(f_.wind->at(middle));
  return cents == 0 ? 1.0 : std::exp2(cents / 1200.0);
}

float PipeSound::noise_level(std::int64_t at) const {
  const auto t = static_cast<float>(at - f_.on);
  if (t <= 0) return 0.0F;
  const float x = t / (rise_.empty() ? 480.0F : rise_.front());
  float out = f_.noise_amplitude;
  if (x < 16) out = out * (1.0F - std::exp(-3.0F * x)) + f_.chiff_amplitude * 2.0F * x * std::exp(1.0F - 2.0F * x);
  const auto since = static_cast<float>(at - f_.off);
  return since > 0 ? out * std::exp(-since / 240.0F) : out;
}

void PipeSound::aim(std::int64_t next, float share) {
  if (next <= f_.off) build_up(next);
  else die_away(next);
  const std::size_t n = amplitude_.size();
  multiply(amplitude_.data(), envelope_.data(), to_.data(), n);
  for (std::size_t i = 0; i < n; ++i) to_[i] *= box_from_[i] + share * (box_to_[i] - box_from_[i]);
}

void PipeSound::add(std::int64_t start, std::span<float> out, std::span<float> quarter) {
  const auto n = static_cast<std::int64_t>(out.size());
  if (end_ <= start || f_.on >= start + n) return;
  const bool noisy = f_.noise != nullptr && f_.noise_amplitude + f_.chiff_amplitude > 0;
  const bool box_moves = box_from_ != box_to_;
  const std::size_t lows = low_.size();
  std::array<float, slow> made;
  float level_from = 1;
  float level_step = 0;  // a sample
  bool levelled = false;
  for (std::int64_t at = start; at < start + n && at < end_;) {
    // While nothing moves, as much is made at once as the quarter-rate bank makes at a time.
    const bool whole = steady_ && at % slow == 0 && at + slow <= f_.off;
    const int count = whole ? slow : piece;
    const std::int64_t next = at + count;
    if (next <= f_.on) {
      at = next;
      continue;
    }
    if (at % slow == 0 || !levelled) {
      const std::int64_t node = at - at % slow;
      level_from = level(node);
      level_step = (level(node + slow) - level_from) / slow;
      level_from += level_step * static_cast<float>(at % slow);
      const double bent = bend(node);
      low_.bend(bent);
      high_.bend(bent);
      levelled = true;
    }
    float* const here = out.data() + (at - start);
    float* const quarter_here = quarter.data() + (at - start) / 4;
    const float share = static_cast<float>(next - start) / static_cast<float>(n);
    if (whole) {
      low_.sum(from_.data(), from_.data(), made.data());
    } else {
      aim(next, share);
      low_.sum_short(from_.data(), to_.data(), made.data());
      steady_ = settled_ && !falling_ && !box_moves && from_ == to_;
    }
    add_along(made.data(), level_from, 4 * level_step, quarter_here, count / 4);
    if (high_.size() > 0) {
      const float* const to = whole ? from_.data() : to_.data();
      for (int i = 0; i < count; i += piece) high_.sum(from_.data() + lows, to + lows, made.data() + i);
      add_along(made.data(), level_from, level_step, here, count);
    }
    if (!whole) std::swap(from_, to_);
    if (noisy) {
      const float noise_from = noise_now_;
      noise_now_ = noise_level(next) * (noise_box_from_ + share * (noise_box_to_ - noise_box_from_));
      const auto place = (static_cast<std::uint32_t>(at) + f_.noise_offset) & (NoiseTables::length - 1);
      add_along(f_.noise->data() + place, noise_from, (noise_now_ - noise_from) / static_cast<float>(count), here,
                count);
    }
    level_from += level_step * static_cast<float>(count);
    at = next;
  }
}

}  // namespace calcant
