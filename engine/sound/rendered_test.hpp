// What the renderer's tests share: the demo organ rendered dry, and the amplitude of a known frequency.
#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "engine/sound/render.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant::rendered {

inline constexpr double two_pi = 2.0 * std::numbers::pi;

inline const Organ& village() {
  static const Organ organ = [] {
    auto folder = read_organ_folder("demo/village");
    EXPECT_TRUE(folder);
    return folder ? folder->organ : Organ{};
  }();
  return organ;
}

inline const Listening& nave() {
  static const Listening listening{village(), usual_condition(village())};
  return listening;
}

inline RenderSettings steady() {
  RenderSettings s;
  s.dry = true;
  s.noise = false;
  s.irregular = false;
  return s;
}

inline std::vector<float> left_of(const Performance& p, const RenderSettings& s, int threads = 1) {
  std::vector<float> out;
  const auto done = render(
      p, nave(), s,
      [&](std::span<const float> block) -> Result<void> {
        for (std::size_t i = 0; i < block.size(); i += 2) out.push_back(block[i]);
        return {};
      },
      Work{threads});
  EXPECT_TRUE(done) << sentence(done.error());
  return out;
}

inline Performance one_pipe(PipeId pipe, double seconds) {
  Performance p;
  p.events = {{pipe, Seconds{0.1}, Seconds{0.1 + seconds}}};
  p.length = Seconds{0.1 + seconds};
  return p;
}

// Amplitude of a sinusoid of known frequency over a second, by a Hann window (side lobes 32 dB down and falling).
inline double amplitude(const std::vector<float>& x, std::size_t from, std::size_t count, double hz) {
  double re = 0;
  double im = 0;
  double sum = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const double w = 0.5 - 0.5 * std::cos(two_pi * static_cast<double>(i) / static_cast<double>(count));
    const double at = two_pi * hz / sample_rate_hz * static_cast<double>(i);
    re += w * x[from + i] * std::cos(at);
    im -= w * x[from + i] * std::sin(at);
    sum += w;
  }
  return 2 * std::hypot(re, im) / sum;
}

inline PipeId pipe_of(const char* rank, int key) {
  const auto r = rank_by_id(village(), rank);
  EXPECT_TRUE(r) << rank;
  return {r.value_or(0), key - village().ranks[static_cast<std::size_t>(r.value_or(0))].low_key.midi + 1};
}

}  // namespace calcant::rendered
