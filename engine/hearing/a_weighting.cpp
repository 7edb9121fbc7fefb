#include "engine/hearing/a_weighting.hpp"

#include <algorithm>
#include <cmath>

#include "engine/hearing/loudness.hpp"

namespace calcant {

Decibels a_weighting(Hertz frequency) {
  const auto square = [](double x) { return x * x; };
  const double f2 = square(frequency.value());
  const double gain = square(12194.217) * f2 * f2 /
                      ((f2 + square(20.598997)) * std::sqrt((f2 + square(107.65265)) * (f2 + square(737.86223))) *
                       (f2 + square(12194.217)));
  return Decibels{20.0 * std::log10(gain) + 2.000};
}

Result<Decibels> a_weighted_level(const Lines& lines) {
  if (const auto ok = check_lines(lines); !ok) return tl::unexpected(ok.error());
  double power = 0;
  for (const Line& line : lines) power += decibels_to_power(line.level + a_weighting(line.frequency));
  return power_to_decibels(std::max(power, 1e-20));
}

}  // namespace calcant
