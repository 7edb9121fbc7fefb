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

// Whether the pedals of this organ can have a 16 ft at all: a stop of that pitch in use, their own or a manual's by coupler.
[[nodiscard]] bool pedals_have_sixteen(const Organ& organ);

// What the rules have to say of a state that is played so: where the hands are, and how loud the feet are under the
// hand they carry; of the pedals nothing where the feet rest, nor that they have too little where they can have no
// more (R36). `together`: what it is for while both hands are on one manual; apart, the right plays a solo.
[[nodiscard]] std::vector<Advice> advice_on(const Organ& organ, Scales& scales, const Registration& drawn,
                                            const HandsAndFeet& on, Use together);

}  // namespace calcant
