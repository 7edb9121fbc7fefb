// The width of pipes: the normal scale, half-tones wide or narrow of it, and what a rank's own figures say.
#pragma once

#include "engine/organ/organ.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

// Inside diameter by Töpfer's normal scale at this sounding pitch: 155.5 mm at 8 ft C (65.406 Hz), half at the 17th note
// above (W. Adelung, Einführung in den Orgelbau, 1991). Stopped pipes are compared at their sounding pitch.
[[nodiscard]] Metres normal_scale(Hertz sounding);
// How many half-tones a diameter is wide (+) or narrow (-) of normal scale at this pitch: 16 lg2(D / normal).
[[nodiscard]] double half_tones(Metres diameter, Hertz sounding);
// The diameter that many half-tones off normal scale.
[[nodiscard]] Metres scaled(Hertz sounding, double half_tones);
// The round pipe of equal area to a wooden one of this inside width and depth.
[[nodiscard]] Metres equal_area_diameter(Metres width, Metres depth);

// The nominal pitch of one pipe of a rank in equal temperament at A = 440: what its scale is compared at.
[[nodiscard]] Hertz nominal_pitch(const Rank& rank, Note key);
// Inside diameter of the pipe that belongs to this key: from the rank's diameters (logarithm interpolated between marks,
// normal progression beyond them), else its half-tones, else what is usual for its family and form (assumed).
[[nodiscard]] Metres diameter(const Rank& rank, Note key);

}  // namespace calcant
