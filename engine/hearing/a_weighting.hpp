// The A-weighted level people know from sound level meters.
#pragma once

#include "engine/quantity/lines.hpp"
#include "engine/quantity/result.hpp"

namespace calcant {

// What the A weighting adds to a level at `f` (IEC 61672-1:2013, Annex E): 0 dB at 1 kHz. f must be above 0.
[[nodiscard]] Decibels a_weighting(Hertz f);
// dB(A) of all lines together. Nothing sounding: -200 dB. Refuses what check_lines refuses.
[[nodiscard]] Result<Decibels> a_weighted_level(const Lines& lines);

}  // namespace calcant
