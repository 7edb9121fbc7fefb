#include "engine/measuring/beats.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "engine/measuring/statistics.hpp"

namespace calcant::measuring {

std::optional<Second> second_comb(const PitchFit& fit, Bench& bench) {
  const std::size_t frames = fit.course.frames();
  const double hop = fit.course.hop;
  const double seconds = static_cast<double>(frames) * hop;
  if (frames < 12) return std::nullopt;
  // Relative swelling of each harmonic, and the variance noise alone gives one frame of it.
  struct Swell {
    int k;
    std::vector<float> line;  // of its swelling, by the frequencies of the transform
    double noise;
  };
  // Four times as many points as frames: the lines between two of them are lower by 3 % at most.
  const std::size_t size = 2 * power_of_two_from(2 * frames);
  Fft& fft = bench.fft(size);
  std::vector<float> a(size, 0.0F);
  std::vector<Swell> swells;
  for (std::size_t k = 0; k < fit.amplitude.size(); ++k) {
    if (!fit.used[k]) continue;
    Swell s{static_cast<int>(k + 1), std::vector<float>(size / 2 + 1), 0.0};
    double mean = 0.0;
    for (const auto z : fit.course.z[k]) mean += static_cast<double>(std::abs(z));
    mean /= static_cast<double>(frames);
    for (std::size_t n = 0; n < frames; ++n) {
      // A Hann window over the stretch keeps slow settling out of the beat's place.
      const double w =
          1.0 - std::cos(2.0 * std::numbers::pi * (static_cast<double>(n) + 0.5) / static_cast<double>(frames));
      a[n] = static_cast<float>((static_cast<double>(std::abs(fit.course.z[k][n])) / mean - 1.0) * w);
    }
    const auto bins = fft.transform(a);
    for (std::size_t i = 0; i < bins.size(); ++i) s.line[i] = 2.0F * std::abs(bins[i]) / static_cast<float>(frames);
    s.noise = fit.noise[k] * 1.5 / (2.0 * hop) / (mean * mean) * 2.0;
    swells.push_back(std::move(s));
  }
  if (swells.empty()) return std::nullopt;
  const int top = swells.back().k;
  // HeardBeat of the fundamental: the highest harmonic must beat at least 1.6 times in the stretch and none so fast that the
  // window averages it away.
  const double slowest = 1.6 / seconds / top;
  const double fastest = 0.3 / hop;
  const double step = 0.25 / seconds / top;
  double best = 0.0;
  double rate = 0.0;
  double depth = 0.0;
  int agreeing_best = 0;
  for (double f = slowest; f < fastest; f += step) {
    double sum = 0.0;
    int counted = 0;
    int agreeing = 0;
    double swing = 0.0;
    for (const Swell& s : swells) {
      const double at = f * s.k;
      if (at > fastest || at * seconds < 1.6) continue;
      const auto bin = static_cast<std::size_t>(std::lround(at * hop * static_cast<double>(size)));
      const double line = static_cast<double>(s.line[std::min(bin, size / 2)]);
      // Swell of at least 0.03 (a second 30 dB down) and 5 times what noise gives.
      const double floor = std::sqrt(s.noise * 2.0 / static_cast<double>(frames)) * 5.0;
      const double share = std::min(1.0, line / std::max(0.03, floor) / 2.0);
      sum += share;
      ++counted;
      if (line > std::max(0.06, floor)) {
        ++agreeing;
        swing += line;
      }
    }
    if (counted == 0 || agreeing == 0) continue;
    const double score = sum / counted * std::sqrt(static_cast<double>(agreeing));
    if (score > best) {
      best = score;
      rate = f;
      depth = swing / agreeing;
      agreeing_best = agreeing;
    }
  }
  const int usable = static_cast<int>(std::ranges::count_if(
      swells, [&](const Swell& s) { return rate * s.k <= fastest && rate * s.k * seconds >= 1.6; }));
  if (rate == 0.0 || agreeing_best * 3 < usable * 2) return std::nullopt;
  return Second{rate, 20.0 * std::log10(std::min(1.0, depth))};
}

}  // namespace calcant::measuring
