#include "engine/pipe/resonance.hpp"

#include <cmath>
#include <numbers>

namespace calcant {
namespace {

double ka(Metres radius, Hertz f, MetresPerSecond c) {
  return 2 * std::numbers::pi * f.value() / c.value() * radius.value();
}

}  // namespace

Metres open_end_correction(Metres radius, Hertz f, MetresPerSecond c) {
  const double x = ka(radius, f, c);
  const double s = std::sin(2 * x);
  return radius * (0.6133 * ((1 + 0.044 * x * x) / (1 + 0.19 * x * x) - 0.02 * s * s));
}

Metres flanged_end_correction(Metres radius, Hertz f, MetresPerSecond c) {
  const double x = 0.77 * ka(radius, f, c);
  return radius * (0.8216 / (1 + x * x / (1 + x)));
}

Metres mouth_correction(Metres radius, Metres mouth_width, Metres cut_up) {
  return Metres{2.3 * radius.value() * radius.value() / std::sqrt(mouth_width.value() * cut_up.value())};
}

Metres open_length(Hertz f, Metres diameter, Metres mouth_width, Metres cut_up, MetresPerSecond c) {
  return Metres{c.value() / (2 * f.value())} - mouth_correction(diameter / 2, mouth_width, cut_up) -
         open_end_correction(diameter / 2, Hertz{0}, c);
}

Metres stopped_length(Hertz f, Metres diameter, Metres mouth_width, Metres cut_up, MetresPerSecond c) {
  return Metres{c.value() / (4 * f.value())} - mouth_correction(diameter / 2, mouth_width, cut_up);
}

Metres shop_length(Hertz f, Metres diameter, MetresPerSecond c) {
  return Metres{c.value() / (2 * f.value())} - diameter * (5.0 / 3);
}

Metres shop_length_square(Hertz f, Metres depth, MetresPerSecond c) {
  return Metres{c.value() / (2 * f.value())} - 2 * depth;
}

Hertz shop_frequency(Metres length, Metres diameter, MetresPerSecond c) {
  return Hertz{c.value() / (2 * (length.value() + 5.0 / 3 * diameter.value()))};
}

namespace {

double wall_quality(Metres radius, Hertz f, MetresPerSecond c) {
  const double attenuation = 3.0e-5 * std::sqrt(f.value()) / radius.value();
  return std::numbers::pi * f.value() / (attenuation * c.value());
}
// A stopped pipe is half as long and has one end to radiate from: in a wavelength the same loss as an open one with two.
double radiation_quality(Metres radius, Hertz f, MetresPerSecond c) {
  const double x = ka(radius, f, c);
  return std::numbers::pi / (x * x);
}

}  // namespace

double passive_quality(Metres radius, Hertz f, MetresPerSecond c) {
  return 1 / (1 / wall_quality(radius, f, c) + 1 / radiation_quality(radius, f, c));
}

double radiated_share(Metres radius, Hertz f, MetresPerSecond c) {
  return passive_quality(radius, f, c) / radiation_quality(radius, f, c);
}

}  // namespace calcant
