// How dark or bright states are for their level.
#pragma once

#include <vector>

#include "engine/plan/vocabulary.hpp"

namespace calcant {

// Sets Shade::tone of all: log of its brightness over the middle one of the shades within 2 phon of it.
void set_tones(std::vector<Shade>& shades);

}  // namespace calcant
