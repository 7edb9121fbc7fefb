#include "engine/measuring/foreign.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstddef>
#include <numbers>

namespace calcant::measuring {

namespace {

using Phasor = std::complex<double>;

constexpr double tau = 2.0 * std::numbers::pi;
constexpr double longest_mean = 0.7;    // s: lines nearer than 1 / 0.7 s to a harmonic are not told from it
constexpr double shortest_mean = 0.03;  // s

// Mean over `width` samples round each one, over fewer at the ends.
void running_mean(std::vector<Phasor>& z, std::size_t width) {
  const std::size_t half = width / 2;
  const std::size_t n = z.size();
  std::vector<Phasor> sum(n + 1);
  for (std::size_t i = 0; i < n; ++i) sum[i + 1] = sum[i] + z[i];
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t a = i > half ? i - half : 0;
    const std::size_t b = std::min(n, i + half + 1);
    z[i] = (sum[b] - sum[a]) / static_cast<double>(b - a);
  }
}

// The slow course of the line at `hertz`: x is near 2 Re(z exp(i w t)) there.
std::vector<Phasor> course_of(std::span<const float> x, double rate, double hertz, std::size_t width) {
  std::vector<Phasor> z(x.size());
  const Phasor turn = std::polar(1.0, -tau * hertz / rate);
  Phasor one = 1.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (i % 1024 == 0) one = std::polar(1.0, -tau * std::fmod(hertz / rate * static_cast<double>(i), 1.0));
    z[i] = static_cast<double>(x[i]) * one;
    one *= turn;
  }
  for (int pass = 0; pass < 3; ++pass) running_mean(z, width);
  return z;
}

// Draws the course straight, in amplitude and phase, from sample `a` to sample `b`; how fast the phase runs is taken
// from what lies before and after.
void draw_straight(std::vector<Phasor>& z, std::size_t a, std::size_t b, std::size_t step) {
  Phasor advance{};
  for (std::size_t i = 0; i + step < z.size(); i += step)
    if (i + step <= a || i >= b) advance += z[i + step] * std::conj(z[i]);
  const double expected = std::arg(advance) * static_cast<double>(b - a) / static_cast<double>(step);
  const double seen = std::arg(z[b] * std::conj(z[a]));
  const double turns = expected + std::remainder(seen - expected, tau);
  const double phase = std::arg(z[a]);
  const double from = std::abs(z[a]);
  const double to = std::abs(z[b]);
  for (std::size_t i = a + 1; i < b; ++i) {
    const double share = static_cast<double>(i - a) / static_cast<double>(b - a);
    z[i] = std::polar(from + (to - from) * share, phase + turns * share);
  }
}

}  // namespace

std::vector<double> take_away(std::span<float> x, double rate, double origin, const std::vector<ForeignLine>& lines,
                              const Amid& note) {
  std::vector<double> left;
  const double n = static_cast<double>(x.size());
  const auto sample = [&](double t) { return static_cast<std::size_t>(std::clamp((t - origin) * rate, 0.0, n)); };
  const double speaking = 0.05 + 30.0 / note.fundamental;  // s a pipe may take to come near its full sound
  for (const ForeignLine& line : lines) {
    const double nearest = note.fundamental * std::max(1.0, std::round(line.hertz / note.fundamental));
    const double apart = std::max(1e-9, std::fabs(line.hertz - nearest));
    const double mean = std::max(1.0, std::round(shortest_mean * apart)) / apart;
    const std::size_t from = sample(line.from - 0.2);
    const std::size_t to = sample(line.to + 0.2);
    const double reach = 1.5 * mean;
    if (mean > longest_mean) {
      left.push_back(line.hertz);
      continue;
    }
    if (to <= from) continue;
    const auto part = x.subspan(from, to - from);
    auto z = course_of(part, rate, line.hertz, static_cast<std::size_t>(mean * rate));
    const std::size_t a = sample(note.onset - 0.1 - reach);
    const std::size_t b = sample(note.onset + speaking + reach);
    if (a > from + static_cast<std::size_t>(0.1 * rate) && b + static_cast<std::size_t>(0.1 * rate) < to)
      draw_straight(z, a - from, b - from, static_cast<std::size_t>(0.05 * rate));
    const Phasor turn = std::polar(1.0, tau * line.hertz / rate);
    Phasor one = 1.0;
    for (std::size_t i = 0; i < part.size(); ++i) {
      if (i % 1024 == 0) one = std::polar(1.0, tau * std::fmod(line.hertz / rate * static_cast<double>(i), 1.0));
      part[i] -= static_cast<float>(2.0 * (z[i] * one).real());
      one *= turn;
    }
  }
  return left;
}

}  // namespace calcant::measuring
