// One pipe speaking, as samples: partials that each come on and die away in their own time, wind noise,
// chiff.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "engine/sound/oscillator.hpp"

namespace calcant {

// Noise of octave bandwidth and unit power at half-octave centres, made once and played by every pipe from a
// place of its own. About 16 MB.
class NoiseTables {
 public:
  explicit NoiseTables(std::uint64_t seed);
  static constexpr int length = 1 << 17;  // samples, 2.7 s; a power of two
  // The table whose centre is nearest.
  [[nodiscard]] const std::vector<float>& nearest(double centre_hz) const;

 private:
  std::vector<std::vector<float>> tables_;
};

// All figures of one pipe event, amplitudes as samples (peak), times in samples.
struct PipeSound {
  struct Partial {
    Oscillator oscillator;
    double cycles_per_sample = 0;
    float amplitude = 0;      // steady, box open
    float rise_samples = 1;   // time constant of the build-up 1 - exp(-t / rise)
    float fall_samples = 1;   // time constant of the decay after the pallet shuts
    float surplus = 0;        // amplitude of the attack transient above the steady amplitude, at its height
    float box_gain_from = 1;  // swell box, at the beginning and the end of the block being rendered
    float box_gain_to = 1;
  };
  std::vector<Partial> partials;
  const std::vector<float>* noise = nullptr;  // null: none
  std::uint32_t noise_offset = 0;
  float noise_amplitude = 0;  // rms, steady
  float chiff_amplitude = 0;  // rms, at the height of the attack
  float noise_gain_from = 1;  // swell box
  float noise_gain_to = 1;
  std::int64_t on = 0;   // sample the pallet opens
  std::int64_t off = 0;  // sample it shuts
  // Slow unsteadiness of level: two seeded swings, depth as a share of the amplitude, speeds in cycles per
  // sample.
  std::array<float, 2> swing_depth{};
  std::array<double, 2> swing_speed{};
  std::array<double, 2> swing_phase{};
  // Pitch wander (untidy only), depth in cents; tremulant, speed in cycles per sample.
  float wander_cents = 0;
  struct Shake {
    bool on = false;
    double speed = 0;
    double phase = 0;       // cycles at sample 0 of the performance
    float level_depth = 0;  // share of the amplitude
    float pitch_depth_cents = 0;
  } tremulant;

  // First sample from which nothing is left to hear (80 dB down).
  [[nodiscard]] std::int64_t end() const;
};

// Adds samples [start, start + out.size()) of the pipe to `out`. Blocks are asked for in order, each once,
// from the block that holds `on`; phases are kept inside `sound`. out.size() is a multiple of 64.
void add_pipe(PipeSound& sound, std::int64_t start, std::span<float> out);

}  // namespace calcant
