// The jet at a flue pipe's mouth, and the wind the pipe takes.
#pragma once

#include "engine/quantity/units.hpp"

namespace calcant {

// Speed of the jet out of the windway: sqrt(2 P / rho).
[[nodiscard]] MetresPerSecond jet_speed(Pascals foot, KilogramsPerCubicMetre rho);

// H. Ising's number (dissertation 1969; Walcker Hausmitteilung 42, 1971): I = sqrt(2 P d / (rho H^3)) / f, with windway
// depth d and cut-up H. 2 drives the fundamental best, above it the upper partials gain, near 3 the pipe is at its limit.
[[nodiscard]] double ising_number(Hertz f, Pascals foot, Metres windway_depth, Metres cut_up,
                                  KilogramsPerCubicMetre rho);

// Share of the chest's pressure that stands in the foot when the wind passes a toe hole and a windway in series, by the
// ratio of their areas, windway to toe: 1/(1 + ratio^2) (continuity, equal discharge coefficients).
[[nodiscard]] double foot_share(double windway_to_toe);

// Wind through the windway: width times depth times jet speed (J. Liljencrants, "Ising's formula").
[[nodiscard]] LitresPerSecond windway_flow(Metres mouth_width, Metres windway_depth, MetresPerSecond jet);

}  // namespace calcant
