// One pipe speaking, as samples: partials that each come on and die away in their own time, wind noise,
// chiff.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <utility>
#include <vector>

#include "engine/sound/partial_bank.hpp"

namespace calcant {

// Noise of octave bandwidth and unit power at half-octave centres, made once and played by every pipe from a
// place of its own. About 7 MB.
class NoiseTables {
 public:
  explicit NoiseTables(std::uint64_t seed);
  static constexpr int length = 1 << 17;  // samples, 2.7 s; a power of two. A table goes on for 256 beyond it.
  // The table whose centre is nearest.
  [[nodiscard]] const std::vector<float>& nearest(double centre_hz) const;

 private:
  std::vector<std::vector<float>> tables_;
};

// One partial as it is handed over; amplitude as samples (peak), times in samples.
struct PartialSound {
  double phase = 0;              // cycles
  double cycles_per_sample = 0;  // below 1/2
  float amplitude = 0;           // steady, box open
  float rise_samples = 1;        // time constant of the build-up 1 - exp(-t / rise)
  float fall_samples = 1;        // time constant of the decay after the pallet shuts
  float surplus = 0;             // amplitude of the attack transient above the steady amplitude, at its height
};

// The pressure of the wind as a share of the working pressure, in straight lines between points of rising time (samples);
// as the first before it, as the last after it. None: 1.
class PressureCurve {
 public:
  void add(double sample, double pressure) { points_.emplace_back(sample, pressure); }
  [[nodiscard]] double at(double sample) const;

 private:
  std::vector<std::pair<double, double>> points_;
};

// What goes for the whole pipe.
struct PipeSoundFigures {
  std::int64_t on = 0;                        // sample the pallet opens
  std::int64_t off = 0;                       // sample it shuts
  const std::vector<float>* noise = nullptr;  // null: none
  std::uint32_t noise_offset = 0;
  float noise_amplitude = 0;  // rms, steady
  float chiff_amplitude = 0;  // rms, at the height of the attack
  // Slow unsteadiness of level: two seeded swings, depth as a share of the amplitude, speeds in cycles per
  // sample.
  std::array<float, 2> swing_depth{};
  std::array<double, 2> swing_speed{};
  std::array<double, 2> swing_phase{};
  float wander_cents = 0;               // pitch wander (untidy only), depth
  const PressureCurve* wind = nullptr;  // null: it holds
};

// A tremulant at work, from one sample to another; speed in cycles per sample, phase in cycles at sample 0 of the
// performance.
struct Shake {
  std::int64_t from = 0;
  std::int64_t to = 0;
  double speed = 0;
  double phase = 0;
  float level_depth = 0;  // share of the amplitude
  float pitch_depth_cents = 0;
};

class PipeSound {
 public:
  PipeSound(const PipeSoundFigures& figures, std::span<const PartialSound> partials, std::vector<Shake> shakes);

  // Gains of the swell box at the beginning and the end of the block that is added next, for each partial and for the
  // noise; they hold until they are set again. Both 1 at first.
  void set_box(std::span<const float> from, std::span<const float> to, float noise_from, float noise_to);
  // Adds samples [start, start + out.size()) of the pipe: what lies under 5 kHz to `quarter`, at a quarter of the rate,
  // the rest to `out` (see quarter_rate.hpp). Blocks are asked for in order, each once, from the block that holds the
  // pallet's opening. out.size() is a multiple of 256, and so is start.
  void add(std::int64_t start, std::span<float> out, std::span<float> quarter);
  // First sample from which nothing is left to hear (80 dB down).
  [[nodiscard]] std::int64_t end() const { return end_; }

 private:
  void build_up(std::int64_t at);  // amplitudes at this boundary of a piece
  void die_away(std::int64_t at);
  void aim(std::int64_t next, float share);  // to_, at this boundary of a piece
  [[nodiscard]] float level(std::int64_t at) const;
  [[nodiscard]] double bend(std::int64_t at) const;
  [[nodiscard]] float noise_level(std::int64_t at) const;

  PipeSoundFigures f_;
  std::vector<Shake> shakes_;
  std::int64_t end_ = 0;
  PartialBank low_;  // the first of the partials, at a quarter of the rate
  PartialBank high_;
  // One figure a partial, so that loops over them vectorise.
  std::vector<float> amplitude_, rise_, fall_, surplus_, box_from_, box_to_;
  std::vector<float> still_to_come_;  // exp(-t / rise), then what is left of the fall
  std::vector<float> turn_;           // its factor from one piece to the next
  std::vector<float> envelope_;       // at the boundary reached
  std::vector<float> from_, to_;      // amplitudes at both ends of a piece
  bool speaking_ = false;
  bool settled_ = false;  // nothing of the attack is left
  bool falling_ = false;
  bool steady_ = false;  // amplitudes stand where they are, but for the level of the whole
  float noise_box_from_ = 1;
  float noise_box_to_ = 1;
  float noise_now_ = 0;  // at the boundary reached
};

}  // namespace calcant
