#include "engine/measuring/mixture.hpp"

#include <algorithm>
#include <cmath>

namespace calcant::measuring {

namespace {

constexpr double over_noise = 20.0;  // power
constexpr int most_harmonics = 12;
constexpr double same_line = 0.006;  // ratio: two lines nearer than 10 cents are one

struct Line {
  double hertz = 0.0;
  double power = 0.0;  // of the sine: amplitude squared
  bool heard = false;
};

// The highest line near `expected`; the parabola through the logarithms of the three highest points.
Line line_near(const Surroundings& s, double expected) {
  const double reach = std::max(expected * (std::exp2(45.0 / 1200.0) - 1.0), 2.0 * s.noise_bandwidth);
  const auto low = static_cast<std::size_t>(std::max(1.0, std::floor((expected - reach) / s.bin)));
  const auto high = static_cast<std::size_t>(std::ceil((expected + reach) / s.bin));
  if (high + 2 > s.power.size()) return {};
  const auto first = s.power.begin();
  const auto top =
      std::max_element(first + static_cast<std::ptrdiff_t>(low), first + static_cast<std::ptrdiff_t>(high) + 1);
  const auto i = static_cast<std::size_t>(top - first);
  const auto log_at = [&](std::size_t n) { return std::log(static_cast<double>(s.power[n]) + 1e-30); };
  const double a = log_at(i - 1);
  const double b = log_at(i);
  const double c = log_at(i + 1);
  // At the edge of the stretch it is a neighbour's flank, not a line.
  if (a > b || c > b) return {};
  const double shift = 0.5 * (a - c) / std::min(a - 2.0 * b + c, -1e-9);
  Line line;
  line.hertz = (static_cast<double>(i) + shift) * s.bin;
  line.power = std::exp(b - 0.25 * (a - c) * shift);
  const double beside = s.density(expected * 0.93, expected * 1.07);
  line.heard = line.power > over_noise * 2.0 * beside * s.noise_bandwidth;
  return line;
}

}  // namespace

HeardMixture hear_mixture(std::span<const float> steady, double rate, const std::vector<double>& expected,
                          Bench& bench) {
  const auto listened = std::min(steady.size(), static_cast<std::size_t>(2.0 * rate));
  const Surroundings s = surroundings(steady.subspan((steady.size() - listened) / 2, listened), rate, bench);
  HeardMixture out;
  std::vector<double> counted;
  const auto count = [&](const Line& line) {
    const auto same = [&](double f) { return std::fabs(line.hertz - f) < same_line * f; };
    if (!line.heard || std::ranges::any_of(counted, same)) return;
    counted.push_back(line.hertz);
    out.power += line.power;
  };
  for (std::size_t p = 0; p < expected.size(); ++p) {
    const Line line = line_near(s, expected[p]);
    HeardPipe pipe{Hertz{expected[p]}, {}, {}, {}, false};
    for (std::size_t q = 0; q < p; ++q) {
      const double ratio = expected[p] / expected[q];
      pipe.shared = pipe.shared || std::fabs(ratio - std::round(ratio)) < same_line * ratio;
    }
    if (line.heard) {
      pipe.hertz = Hertz{line.hertz};
      pipe.cents = interval(Hertz{expected[p]}, Hertz{line.hertz});
      pipe.level = power_to_decibels(line.power);
    }
    out.pipes.push_back(pipe);
    count(line);
    for (int k = 2; k <= most_harmonics; ++k) count(line_near(s, k * (line.heard ? line.hertz : expected[p])));
  }
  return out;
}

}  // namespace calcant::measuring
