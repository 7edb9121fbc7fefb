// Whether what a plan says it follows of the copy's words is so, knob by knob, and nothing that is printed goes untold: asked
// again from the score and the sections as they are written down.
#pragma once

#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/plan/plan.hpp"
#include "engine/score/score.hpp"

namespace calcant {

// Whole sentences, empty when all is well. That a word this organ cannot follow is told is looked for in the item's remarks.
[[nodiscard]] std::vector<std::string> check_copy(const Organ& organ, const Item& item, const Score& score);

}  // namespace calcant
