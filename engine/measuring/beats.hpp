// Whether a second pipe sounds beside the one whose comb was found. Inside the part only.
#pragma once

#include <optional>

#include "engine/measuring/pitch.hpp"

namespace calcant::measuring {

struct Second {
  double hertz = 0.0;  // of the fundamental beyond the first's
  double db = 0.0;     // below the first
};
// A second comb shows at harmonic k as a line k times as far from the first's, and makes its amplitude swell k times as
// fast; wander of the wind moves phase, not amplitude, and a tremulant moves all harmonics at one rate. In a room
// (`in_room`) wander does move amplitude, each harmonic's in its own way: more of them must then agree.
[[nodiscard]] std::optional<Second> second_comb(const PitchFit& fit, bool in_room, Bench& bench);

}  // namespace calcant::measuring
