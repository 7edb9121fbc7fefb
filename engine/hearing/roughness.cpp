#include "engine/hearing/roughness.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "engine/hearing/cochlea.hpp"

namespace calcant {
namespace {

constexpr double one_line = 1.0;        // Hz: closer lines count as one in the roughness
constexpr double slowest_rough = 15.0;  // Hz: slower is heard as beats (roughness is about 15 to 300 Hz)
constexpr double slowest_beat = 0.2;    // Hz
constexpr Decibels faintest{-20};

// Several lines within a width of the lowest of them, as one.
struct Partial {
  double frequency;
  double power;  // at the inner ear
  double level;  // at the listener, as a power
};
std::vector<Partial> joined(const std::vector<hearing::Arrival>& arrivals, const Lines& lines, double width) {
  std::vector<Partial> all;
  double end = 0;
  for (const hearing::Arrival& a : arrivals) {
    const double f = a.frequency;
    const double level = decibels_to_power(lines[a.line].level);
    if (all.empty() || f >= end) {
      end = f + width;
      all.push_back({f, a.power, level});
    } else {
      Partial& p = all.back();
      p.power += a.power;
      p.level += level;
      p.frequency += (f - p.frequency) * (a.power / p.power);
    }
  }
  return all;
}

// How fast the ear's critical band, and with it the reach of roughness, grows with frequency.
double spread(double f) { return 0.24 / (0.0207 * f + 18.96); }

}  // namespace

double vassilakis(Hertz lower, Hertz apart, double amplitude, double other) {
  const double low = std::min(amplitude, other);
  if (!(low > 0)) return 0;
  const double x = spread(lower.value()) * apart.value();
  const double fluctuation = 2.0 * low / (amplitude + other);
  return std::pow(amplitude * other, 0.1) * 0.5 * std::pow(fluctuation, 3.11) *
         (std::exp(-3.5 * x) - std::exp(-5.75 * x));
}

Result<Roughness> roughness(const Ear& ear, const Lines& lines) {
  if (const auto ok = check_lines(lines); !ok) return tl::unexpected(ok.error());
  const std::vector<hearing::Arrival> arrivals = ear.cochlea().arrivals(lines);
  const std::vector<Partial> steady = joined(arrivals, lines, slowest_beat);
  const std::vector<Partial> smooth = joined(arrivals, lines, one_line);
  const std::vector<double> excitation = ear.cochlea().excitation(ear.cochlea().components(arrivals));
  const hearing::Filters& filters = ear.cochlea().filters();
  // What the ear has at a frequency, the threshold's own excitation included.
  const auto around = [&](double f) {
    const auto above = std::lower_bound(filters.centre.begin(), filters.centre.end() - 1, f);
    const auto i = static_cast<std::size_t>(above - filters.centre.begin());
    return excitation[i] + filters.threshold[i];
  };
  double loudest = 0;
  for (const Partial& x : smooth) loudest = std::max(loudest, x.power);

  Roughness r;
  for (std::size_t i = 0; i < smooth.size(); ++i) {
    const Partial& x = smooth[i];
    for (std::size_t j = i + 1; j < smooth.size(); ++j) {
      const double d = smooth[j].frequency - x.frequency;
      if (spread(x.frequency) * d > 4.0) break;  // under a millionth from here up
      if (d < slowest_rough) continue;
      const Partial& y = smooth[j];
      const double share = (x.power + y.power) / around(x.frequency + d / 2);
      r.index += std::min(share, 1.0) *
                 vassilakis(Hertz{x.frequency}, Hertz{d}, std::sqrt(x.power / loudest), std::sqrt(y.power / loudest));
    }
  }
  for (std::size_t i = 0; i < steady.size(); ++i) {
    for (std::size_t j = i + 1; j < steady.size(); ++j) {
      const Partial& x = steady[i];
      const Partial& y = steady[j];
      const double d = y.frequency - x.frequency;
      if (d >= slowest_rough) break;
      const Decibels depth = power_to_decibels(std::min(x.level, y.level) / std::max(x.level, y.level));
      if (d < slowest_beat || depth < faintest) continue;
      r.beats.push_back({Hertz{d}, Hertz{(x.frequency * x.level + y.frequency * y.level) / (x.level + y.level)}, depth,
                         power_to_decibels(std::max(x.level, y.level))});
    }
  }
  std::stable_sort(r.beats.begin(), r.beats.end(), [](const Beat& x, const Beat& y) { return x.level > y.level; });
  if (r.beats.size() > most_beats) r.beats.resize(most_beats);
  return r;
}

}  // namespace calcant
