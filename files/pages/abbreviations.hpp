// Short names as English organists pencil them: "Op. Diap. 8", "Sw to Gt", "15th".
#pragma once

#include <string>
#include <string_view>

#include "engine/organ/organ.hpp"
#include "engine/plan/plan.hpp"

namespace calcant {

// Every word by its usual abbreviation, or cut to five letters and a full stop where it has none; short words stay.
[[nodiscard]] std::string abbreviated(std::string_view name);
// "Op. Diap. 8", "Sw to Gt"; a stop keeps its length, but one called after its interval where it speaks at it: "15th".
[[nodiscard]] std::string short_name(const Organ& organ, Knob knob);
// "Gt", "Sw", "Ped", "Ch"; else the first three letters.
[[nodiscard]] std::string short_division(std::string_view name);

}  // namespace calcant
