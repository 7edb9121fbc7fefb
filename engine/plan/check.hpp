// Whether a plan can be carried out as it stands: recomputed from the plan, the organ and nothing else, apart from the
// planners.
#pragma once

#include <string>
#include <vector>

#include "engine/plan/plan.hpp"

namespace calcant {

// Whole sentences, empty when all is well: cues that do not lead to the section's registration, knobs drawn twice or put
// in when they were not out, keyboards and knobs the organ does not have, stops out of use, box openings this pedal
// cannot hold, sections in which nothing sounds under a hand or the feet, cues out of order, and moves that need longer
// than their window.
[[nodiscard]] std::vector<std::string> check(const Organ& organ, const Plan& plan);

}  // namespace calcant
