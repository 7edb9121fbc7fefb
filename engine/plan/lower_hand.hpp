// Which hand is the lower one, and what that makes of the rules for the pedals that go on below it (R15 to R17).
#pragma once

#include <optional>
#include <vector>

#include "engine/plan/scales.hpp"
#include "engine/registration/rules.hpp"

namespace calcant {

// Whether the left hand has the lowest note that the hands play, in half of the chords or more. A left hand that has nothing
// to play, or crosses over the right, has it not.
[[nodiscard]] bool left_is_lower(const std::vector<Chord>& chords);
// The keyboard of the lower hand.
[[nodiscard]] std::optional<KeyboardIndex> lower_hand(const HandsAndFeet& on, bool left_is_lower);

// A state as the rules are asked about it: where the hands are, and how loud the feet are under the hand they carry.
// `together`: what it is for while both hands are on one manual; apart, the right plays a solo.
[[nodiscard]] Occasion occasion_of(Scales& scales, const Registration& drawn, const HandsAndFeet& on, Use together);

}  // namespace calcant
