#include "engine/pipe/mouth.hpp"

#include <cmath>

namespace calcant {

MetresPerSecond jet_speed(Pascals foot, KilogramsPerCubicMetre rho) {
  return MetresPerSecond{std::sqrt(2 * foot.value() / rho.value())};
}

double ising_number(Hertz f, Pascals foot, Metres windway_depth, Metres cut_up, KilogramsPerCubicMetre rho) {
  const double h = cut_up.value();
  return jet_speed(foot, rho).value() * std::sqrt(windway_depth.value() / (h * h * h)) / f.value();
}

double foot_share(double windway_to_toe) { return 1 / (1 + windway_to_toe * windway_to_toe); }

LitresPerSecond windway_flow(Metres mouth_width, Metres windway_depth, MetresPerSecond jet) {
  return LitresPerSecond{1000 * mouth_width.value() * windway_depth.value() * jet.value()};
}

}  // namespace calcant
