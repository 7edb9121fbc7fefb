#include "engine/measuring/comb.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace calcant::measuring {

namespace {

constexpr double tau = 2.0 * std::numbers::pi;

// sum of x * c and x * s, eight lanes at a time so that the compiler can keep them in vectors.
std::complex<float> both_dots(const float* x, const float* c, const float* s, std::size_t n) {
  float a[8] = {};
  float b[8] = {};
  std::size_t i = 0;
  for (; i + 8 <= n; i += 8) {
    for (std::size_t j = 0; j < 8; ++j) a[j] += x[i + j] * c[i + j];
    for (std::size_t j = 0; j < 8; ++j) b[j] += x[i + j] * s[i + j];
  }
  for (; i < n; ++i) {
    a[0] += x[i] * c[i];
    b[0] += x[i] * s[i];
  }
  return {((a[0] + a[4]) + (a[1] + a[5])) + ((a[2] + a[6]) + (a[3] + a[7])),
          ((b[0] + b[4]) + (b[1] + b[5])) + ((b[2] + b[6]) + (b[3] + b[7]))};
}

}  // namespace

Course demodulated(std::span<const float> x, double rate, double frequency, int harmonics, double window_seconds) {
  Course course;
  course.frequency = frequency;
  const auto hop = static_cast<std::size_t>(std::max(2.0, std::round(window_seconds * rate / 2.0)));
  const std::size_t length = 2 * hop;
  course.hop = static_cast<double>(hop) / rate;
  course.first = (static_cast<double>(length) - 1.0) / 2.0 / rate;
  course.z.resize(static_cast<std::size_t>(harmonics));
  if (x.size() < length) return course;
  const std::size_t frames = (x.size() - length) / hop + 1;

  std::vector<float> window(length);
  for (std::size_t i = 0; i < length; ++i)
    window[i] =
        static_cast<float>((1.0 - std::cos(tau * (static_cast<double>(i) + 0.5) / static_cast<double>(length))) * 2.0 /
                           static_cast<double>(length));
  std::vector<float> c(length);
  std::vector<float> s(length);
  for (int k = 1; k <= harmonics; ++k) {
    const double step = tau * frequency * k / rate;
    // Phase counted from the middle of the window, turned on by an exact step a sample.
    std::complex<double> turn = std::polar(1.0, step * (static_cast<double>(length) - 1.0) / 2.0);
    const std::complex<double> by = std::polar(1.0, -step);
    for (std::size_t i = 0; i < length; ++i) {
      c[i] = window[i] * static_cast<float>(turn.real());
      s[i] = window[i] * static_cast<float>(turn.imag());
      turn *= by;
    }
    auto& z = course.z[static_cast<std::size_t>(k - 1)];
    z.resize(frames);
    std::complex<double> frame_turn = 1.0;
    const std::complex<double> frame_by = std::polar(1.0, -std::fmod(step * static_cast<double>(hop), tau));
    for (std::size_t n = 0; n < frames; ++n) {
      const std::complex<float> dot = both_dots(x.data() + n * hop, c.data(), s.data(), length);
      z[n] = static_cast<std::complex<float>>(static_cast<std::complex<double>>(dot) * frame_turn);
      frame_turn *= frame_by;
    }
  }
  return course;
}

Surroundings surroundings(std::span<const float> x, double rate, Bench& bench) {
  Surroundings s;
  const std::size_t size = 2 * power_of_two_from(x.size());
  const auto power = bench.fft(size).power(x);
  s.power.assign(power.begin(), power.end());
  s.bin = rate / static_cast<double>(size);
  s.noise_bandwidth = 1.5 * rate / static_cast<double>(x.size());
  return s;
}

double Surroundings::density(double low, double high) const {
  const auto from =
      static_cast<std::size_t>(std::clamp(std::ceil(low / bin), 1.0, static_cast<double>(power.size()) - 1));
  const auto to = static_cast<std::size_t>(
      std::clamp(std::floor(high / bin), static_cast<double>(from), static_cast<double>(power.size()) - 1));
  std::vector<float> part(power.begin() + static_cast<std::ptrdiff_t>(from),
                          power.begin() + static_cast<std::ptrdiff_t>(to) + 1);
  const auto middle = part.begin() + static_cast<std::ptrdiff_t>(part.size() / 2);
  std::nth_element(part.begin(), middle, part.end());
  // A noise power spectrum is exponentially distributed: its mean is its median over ln 2. A sine of amplitude 1 has
  // power 1/2.
  return static_cast<double>(*middle) / std::numbers::ln2 / 2.0 / noise_bandwidth;
}

double Surroundings::at(double frequency) const {
  const double place = frequency / bin;
  const auto i = static_cast<std::size_t>(place);
  if (i + 1 >= power.size()) return 0.0;
  const double f = place - static_cast<double>(i);
  return (1.0 - f) * static_cast<double>(power[i]) + f * static_cast<double>(power[i + 1]);
}

std::vector<double> noise_beside(const Surroundings& s, double frequency, int harmonics) {
  std::vector<double> gap(static_cast<std::size_t>(harmonics) + 1);
  for (int k = 0; k <= harmonics; ++k)
    gap[static_cast<std::size_t>(k)] = s.density((k + 0.25) * frequency, (k + 0.75) * frequency);
  std::vector<double> noise(static_cast<std::size_t>(harmonics));
  // Rumble falls steeply with frequency: the geometric mean of both sides meets it at the harmonic.
  for (std::size_t k = 0; k < noise.size(); ++k) noise[k] = std::sqrt(gap[k] * gap[k + 1]);
  return noise;
}

Coarse coarse_comb(const Surroundings& s, double expected, double range, int harmonics) {
  const auto noise = noise_beside(s, expected, harmonics);
  const double step = 1200.0 * std::log2(1.0 + 0.5 * s.bin / (harmonics * expected));
  const int steps = static_cast<int>(std::ceil(range / step));
  Coarse best;
  best.frequency = expected;
  for (int i = -steps; i <= steps; ++i) {
    const double f = expected * std::exp2(i * step / 1200.0);
    // The sum of logarithms as that of a product: at most 16 factors of a million. No harmonic counts for more than 60 dB:
    // one line of hum must not outweigh a comb.
    double product = 1.0;
    for (int k = 1; k <= harmonics; ++k) {
      const double floor = 2.0 * noise[static_cast<std::size_t>(k - 1)] * s.noise_bandwidth + 1e-20;
      product *= std::min(1e6, 1.0 + s.at(k * f) / floor);
    }
    const double score = std::log(product) / harmonics;
    if (score > best.score) best = {f, score};
  }
  return best;
}

}  // namespace calcant::measuring
