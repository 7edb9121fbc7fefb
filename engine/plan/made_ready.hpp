// Stops drawn where nothing is played on them yet.
#pragma once

#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/plan/plan.hpp"

namespace calcant {

// "Swell Gemshorn 4 and Oboe 8 are drawn from the beginning and are first heard at Verse 4.": whole sentences, by the
// section where the stops are drawn and the one where hands or feet first reach them. Of what is silent to the end, left
// drawn because nobody had a hand for it, nothing is said. To the player such stops look like a forgotten coupler.
[[nodiscard]] std::vector<std::string> made_ready(const Organ& organ, const Item& item);

}  // namespace calcant
