// What a state has under the right hand: foundation, four foot, upperwork, reeds.
#pragma once

#include <optional>

#include "engine/plan/vocabulary.hpp"

namespace calcant {

// Fills in what is heard there, by its own division and those coupled to it. lead: the manual hymns are led from.
void under_the_hand(const Organ& organ, std::optional<KeyboardIndex> lead, Shade& shade);

}  // namespace calcant
