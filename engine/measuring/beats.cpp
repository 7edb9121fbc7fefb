#include "engine/measuring/beats.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "engine/measuring/statistics.hpp"

namespace calcant::measuring {

namespace {

constexpr double least_swing = 0.12;   // of a harmonic's amplitude, rms, noise taken off
constexpr double least_spread = 0.25;  // cents
constexpr double room_share = 0.7;     // of a harmonic's swelling, in the one line of a second pipe
constexpr double strong = 0.03;        // of the strongest harmonic's amplitude: weaker ones may be breath

// Several pipes (a chorus, three or more) make no single line in each harmonic. But a pipe's harmonics are locked to one
// another, however uneven its wind, and those of several are not: they swell, and stand some cents off the comb. The rate
// is that of the deepest harmonic's swelling, brought down to the fundamental.
std::optional<Second> several_pipes(const PitchFit& fit, bool in_room) {
  const std::size_t frames = fit.course.frames();
  const std::size_t third = frames / 3;
  const double most = *std::ranges::max_element(fit.amplitude);
  std::vector<double> depth;
  std::vector<double> pitch;
  double rate = 0.0;
  double deepest = 0.0;
  for (std::size_t k = 0; k < fit.amplitude.size(); ++k) {
    if (!fit.used[k] || fit.amplitude[k] < strong * most) continue;
    const auto& z = fit.course.z[k];
    double mean = 0.0;
    for (const auto v : z) mean += static_cast<double>(std::abs(v)) / static_cast<double>(frames);
    double square = 0.0;
    double early = 0.0;
    double late = 0.0;
    double phase = 0.0;
    std::size_t crossings = 0;
    for (std::size_t n = 0; n < frames; ++n) {
      const double swell = static_cast<double>(std::abs(z[n])) / mean - 1.0;
      square += swell * swell / static_cast<double>(frames);
      if (n > 0) {
        phase += static_cast<double>(std::arg(z[n] * std::conj(z[n - 1])));
        crossings += (swell > 0.0) != (static_cast<double>(std::abs(z[n - 1])) > mean);
      }
      if (n < third) early += phase / static_cast<double>(third);
      if (n >= frames - third) late += phase / static_cast<double>(third);
    }
    const double span = static_cast<double>(frames - third) * fit.course.hop;
    const double order = static_cast<double>(k + 1);
    pitch.push_back(1200.0 / std::numbers::ln2 * (late - early) / span / (2.0 * std::numbers::pi) /
                    (order * fit.course.frequency));
    const double noise = fit.noise[k] * 1.5 / fit.course.hop / (mean * mean);
    depth.push_back(std::sqrt(std::max(0.0, square - noise)));
    if (depth.back() <= deepest) continue;
    deepest = depth.back();
    rate = static_cast<double>(crossings) / 2.0 / (static_cast<double>(frames) * fit.course.hop) / order;
  }
  if (depth.size() < 3) return std::nullopt;
  const double middle = median(pitch);
  for (double& c : pitch) c = std::fabs(c - middle);
  const double more = in_room ? 3.0 : 1.0;  // wander and room loosen the lock a little
  if (median(depth) < least_swing || median(pitch) < more * least_spread) return std::nullopt;
  return Second{rate, 20.0 * std::log10(std::min(1.0, deepest * std::numbers::sqrt2))};
}

}  // namespace

std::optional<Second> second_comb(const PitchFit& fit, bool in_room, Bench& bench) {
  const std::size_t frames = fit.course.frames();
  const double hop = fit.course.hop;
  const double seconds = static_cast<double>(frames) * hop;
  if (frames < 12) return std::nullopt;
  // Relative swelling of each harmonic, and the variance noise alone gives one frame of it.
  struct Swell {
    int k;
    std::vector<float> line;  // of its swelling, by the frequencies of the transform
    double noise;
    float strongest = 0.0F;     // of the lines fast enough to be told
    std::vector<double> power;  // of all lines told, summed up to each bin
  };
  // Four times as many points as frames: the lines between two of them are lower by 3 % at most.
  const std::size_t size = 2 * power_of_two_from(2 * frames);
  Fft& fft = bench.fft(size);
  std::vector<float> a(size, 0.0F);
  std::vector<Swell> swells;
  for (std::size_t k = 0; k < fit.amplitude.size(); ++k) {
    if (!fit.used[k]) continue;
    Swell s{static_cast<int>(k + 1), std::vector<float>(size / 2 + 1), 0.0, 0.0F, {}};
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
    const auto told_from = static_cast<std::size_t>(std::lround(1.6 / seconds * hop * static_cast<double>(size)));
    s.power.assign(s.line.size() + 1, 0.0);
    for (std::size_t i = 0; i < s.line.size(); ++i) {
      const double line = i < told_from ? 0.0 : static_cast<double>(s.line[i]);
      s.strongest = std::max(s.strongest, static_cast<float>(line));
      s.power[i + 1] = s.power[i] + line * line;
    }
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
  // Of a Hann window's line nearly all lies so far on both sides.
  const auto lobe = static_cast<std::size_t>(std::ceil(1.5 / seconds * hop * static_cast<double>(size)));
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
      // A second pipe makes one line; an uneven wind, or the loop of a sampled sound, many.
      const bool alone = line > 0.7 * static_cast<double>(s.strongest) &&
                         (!in_room || s.power[std::min(bin + lobe, size / 2) + 1] - s.power[bin - std::min(bin, lobe)] >
                                          room_share * s.power.back());
      if (line > std::max(0.06, floor) && alone) {
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
  const bool agreed = in_room ? agreeing_best >= 4 && agreeing_best * 5 >= usable * 4 : agreeing_best * 3 >= usable * 2;
  if (rate == 0.0 || !agreed) return several_pipes(fit, in_room);
  return Second{rate, 20.0 * std::log10(std::min(1.0, depth))};
}

}  // namespace calcant::measuring
