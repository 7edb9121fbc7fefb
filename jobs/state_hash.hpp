// Which state of the organ an answer came from, as one hash: the folder's own files, and what the day laid over them.
#pragma once

#include <string>

#include "jobs/context.hpp"

namespace calcant {

// SHA-256 over organ.toml, the other .toml and .csv files of the folder (day, player, figures pipe by pipe) and the
// overlay with its dead pipes, stops out of use and figures. Two contexts with the same hash compute the same things at
// the same place, people and temperature.
[[nodiscard]] Result<std::string> state_hash(const OrganContext& context);
// The same without what was measured, and what was measured of one rank (its id) alone: what was worked out with some
// ranks is still right when another was measured.
[[nodiscard]] Result<std::string> unmeasured_hash(const OrganContext& context);
[[nodiscard]] std::string measured_hash(const OrganContext& context, const std::string& rank);

}  // namespace calcant
