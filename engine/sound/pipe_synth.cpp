#include "engine/sound/pipe_synth.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/quantity/random.hpp"

namespace calcant {
namespace {

constexpr double two_pi = 2.0 * std::numbers::pi;
constexpr double rate = 48000.0;
constexpr double lowest_noise_hz = 125.0;
constexpr int noise_table_count = 14;     // half octaves from 125 Hz to 11.3 kHz
constexpr double gone = 9.21;             // ln of 80 dB in amplitude
constexpr int piece = Oscillator::piece;  // amplitudes move in straight lines over pieces of this length

// A second-order band-pass of an octave (Q = 1.41), after the audio-EQ cookbook's constant 0 dB peak form.
void band_pass(std::vector<float>& x, double centre_hz) {
  const double w = two_pi * centre_hz / rate;
  const double alpha = std::sin(w) / (2.0 * 1.41);
  const double b0 = alpha / (1.0 + alpha);
  const double a1 = -2.0 * std::cos(w) / (1.0 + alpha);
  const double a2 = (1.0 - alpha) / (1.0 + alpha);
  double x1 = 0, x2 = 0, y1 = 0, y2 = 0;
  // Twice round, so that the table's end runs on into its beginning.
  for (int round = 0; round < 2; ++round) {
    std::vector<float> y(x.size());
    for (std::size_t i = 0; i < x.size(); ++i) {
      const double in = x[i];
      const double out = b0 * (in - x2) - a1 * y1 - a2 * y2;
      x2 = x1;
      x1 = in;
      y2 = y1;
      y1 = out;
      y[i] = static_cast<float>(out);
    }
    if (round == 1) x = std::move(y);
  }
}

}  // namespace

NoiseTables::NoiseTables(std::uint64_t seed) {
  for (int band = 0; band < noise_table_count; ++band) {
    Random random{seed, static_cast<std::uint64_t>(band)};
    std::vector<float> table(length);
    for (float& v : table) v = static_cast<float>(random.normal());
    band_pass(table, lowest_noise_hz * std::exp2(band / 2.0));
    double power = 0;
    for (const float v : table) power += static_cast<double>(v) * v;
    const auto scale = static_cast<float>(1.0 / std::sqrt(power / length));
    for (float& v : table) v *= scale;
    tables_.push_back(std::move(table));
  }
}

const std::vector<float>& NoiseTables::nearest(double centre_hz) const {
  const double place = 2.0 * std::log2(std::max(centre_hz, 1.0) / lowest_noise_hz);
  const auto band = std::clamp<long>(std::lround(place), 0, noise_table_count - 1);
  return tables_[static_cast<std::size_t>(band)];
}

std::int64_t PipeSound::end() const {
  float longest = 0;
  for (const Partial& p : partials) longest = std::max(longest, p.fall_samples);
  return off + static_cast<std::int64_t>(std::ceil(longest * gone));
}

namespace {

// Amplitude of a partial against its steady amplitude at `t` samples after the pallet opened, `since_off`
// after it shut.
float envelope(const PipeSound::Partial& p, float t, float since_off) {
  if (t <= 0) return 0;
  const auto build_up = [&p](float at) {
    const float x = at / p.rise_samples;
    return (1.0F - std::exp(-x)) + p.surplus * x * std::exp(1.0F - x);
  };
  if (since_off <= 0) return build_up(t);
  return build_up(t - since_off) * std::exp(-since_off / p.fall_samples);
}

}  // namespace

void add_pipe(PipeSound& s, std::int64_t start, std::span<float> out) {
  const auto n = static_cast<std::int64_t>(out.size());
  const std::int64_t end = s.end();
  if (end <= start || s.on >= start + n) return;
  const auto since_on = [&](std::int64_t at) { return static_cast<float>(at - s.on); };
  const auto since_off = [&](std::int64_t at) { return static_cast<float>(at - s.off); };
  const double inverse = 1.0 / static_cast<double>(n);

  for (std::int64_t at = start; at < start + n; at += piece) {
    if (at + piece <= s.on) continue;
    if (at >= end) break;
    // Unsteadiness and tremulant move slowly: one figure for each end of the piece.
    const auto level_at = [&](std::int64_t when) {
      double level = 1.0;
      for (int i = 0; i < 2; ++i) {
        level +=
            s.swing_depth[i] * std::sin(two_pi * (s.swing_phase[i] + s.swing_speed[i] * static_cast<double>(when)));
      }
      if (s.tremulant.on) {
        level *= 1.0 + s.tremulant.level_depth *
                           std::sin(two_pi * (s.tremulant.phase + s.tremulant.speed * static_cast<double>(when)));
      }
      return static_cast<float>(level);
    };
    const float level_from = level_at(at);
    const float level_to = level_at(at + piece);
    const bool bends = s.wander_cents != 0 || s.tremulant.on;
    double bend = 1.0;
    if (bends) {
      const double middle = static_cast<double>(at) + piece / 2.0;
      double cents = s.wander_cents * std::sin(two_pi * (s.swing_phase[0] + 0.37 * s.swing_speed[0] * middle));
      if (s.tremulant.on) {
        cents += s.tremulant.pitch_depth_cents * std::sin(two_pi * (s.tremulant.phase + s.tremulant.speed * middle));
      }
      bend = std::exp2(cents / 1200.0);
    }
    const double share_from = static_cast<double>(at - start) * inverse;
    const double share_to = static_cast<double>(at + piece - start) * inverse;
    float* to = out.data() + (at - start);
    for (PipeSound::Partial& p : s.partials) {
      const auto box_at = [&](double share) {
        return p.box_gain_from + static_cast<float>(share) * (p.box_gain_to - p.box_gain_from);
      };
      const float from = p.amplitude * level_from * box_at(share_from) * envelope(p, since_on(at), since_off(at));
      const float till =
          p.amplitude * level_to * box_at(share_to) * envelope(p, since_on(at + piece), since_off(at + piece));
      if (bends) p.oscillator.retune(p.cycles_per_sample * bend);
      p.oscillator.add(from, till, to);
    }
    if (s.noise != nullptr && s.noise_amplitude + s.chiff_amplitude > 0) {
      const auto noise_at = [&](std::int64_t when, double share) {
        const float t = since_on(when);
        if (t <= 0) return 0.0F;
        const float rise = s.partials.empty() ? 480.0F : s.partials.front().rise_samples;
        const float x = t / rise;
        float level =
            s.noise_amplitude * (1.0F - std::exp(-3.0F * x)) + s.chiff_amplitude * 2.0F * x * std::exp(1.0F - 2.0F * x);
        const float gone_since = since_off(when);
        if (gone_since > 0) level *= std::exp(-gone_since / 240.0F);
        return level * (s.noise_gain_from + static_cast<float>(share) * (s.noise_gain_to - s.noise_gain_from));
      };
      const float from = noise_at(at, share_from);
      const float step = (noise_at(at + piece, share_to) - from) / piece;
      const auto place = static_cast<std::uint32_t>(at) + s.noise_offset;
      for (int i = 0; i < piece; ++i) {
        to[i] += (from + step * static_cast<float>(i)) *
                 (*s.noise)[(place + static_cast<std::uint32_t>(i)) & (NoiseTables::length - 1)];
      }
    }
  }
}

}  // namespace calcant
