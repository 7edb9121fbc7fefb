// Which state of the organ an answer came from, as one hash: the folder's own files, and what the day laid over them.
#pragma once

#include <string>

#include "jobs/context.hpp"

namespace calcant {

// SHA-256 over organ.toml, the other .toml and .csv files of the folder (day, player, figures pipe by pipe) and the
// overlay with its dead pipes, stops out of use and figures. Two contexts with the same hash compute the same things at
// the same place, people and temperature.
[[nodiscard]] Result<std::string> state_hash(const OrganContext& context);

}  // namespace calcant
