// What is drawn, as every job's JSON names it.
#pragma once

#include "engine/organ/organ.hpp"
#include "engine/organ/registration.hpp"
#include "engine/registration/weigh.hpp"
#include "jobs/json.hpp"

namespace calcant {

// ["Great: Open Diapason 8", ..., "Swell to Great"], in jamb order.
[[nodiscard]] Json draw_json(const Organ& organ, const Registration& drawn);
// How far the box is open, 0 to 1; by the boxes' ids where there are several; null where there is none.
[[nodiscard]] Json box_json(const Organ& organ, const Registration& drawn);
// What a knob does for the sound: both answers, with how far they hold where levels are assumed.
[[nodiscard]] Json knob_json(const Organ& organ, const KnobWeight& k);

}  // namespace calcant
