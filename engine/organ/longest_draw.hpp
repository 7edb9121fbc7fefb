// How long a registration in words may be where it is taken from outside.
#pragma once

#include <cstddef>

#include "engine/organ/registration.hpp"

namespace calcant {

// Bytes: every knob of the largest organ there can be, 40 to each with its division and the comma ("Choir Organ: Contra
// Fagotto 16, " has 32).
inline constexpr std::size_t longest_draw = 40 * (max_stops + max_couplers + max_accessories);

}  // namespace calcant
