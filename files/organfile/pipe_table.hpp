// The table of figures pipe by pipe that organ.toml may name. Inside this part only.
#pragma once

#include <string_view>

#include "engine/organ/organ.hpp"
#include "files/organfile/section.hpp"

namespace calcant::organ_toml {

// Comma-separated, a header line naming the columns: rank and pipe, and any of diameter_mm, level_db, cents,
// plus_minus, from, date, basis. Lines that begin with # are comments. Puts the figures into the organ.
void read_pipe_table(std::string_view text, Organ& organ, Faults& faults);

}  // namespace calcant::organ_toml
