// Words typed after a command, read by its description.
#pragma once

#include <string>
#include <vector>

#include "cli/command.hpp"

namespace calcant::cli {

// What is wrong is told in one sentence, with the nearest known name for an unknown option. `--help` and `--json` are
// known to every command (the latter only where it reports) and need not stand in its description.
[[nodiscard]] Result<Given> parse(const Command& command, const std::vector<std::string>& words);

}  // namespace calcant::cli
