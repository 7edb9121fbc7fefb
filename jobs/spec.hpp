// The specification of an organ, as organists print it and as programs read it.
#pragma once

#include <string>
#include <vector>

#include "engine/organ/organ.hpp"

namespace calcant {

// Divisions in the order of the printed specification. low_midi and high_midi of a division are its keys', where it has
// a keyboard; action_low_midi and action_high_midi how far its own action goes. `notes`: what was assumed.
[[nodiscard]] std::string specification_json(const Organ& organ, const std::vector<std::string>& notes = {});

// "invented organ" or nothing: the words that stand on every page of a demo.
[[nodiscard]] std::string invented_words(const Organ& organ);

}  // namespace calcant
