// The program without its process: words in, text or JSON out, an exit code back. Tested as it stands.
#pragma once

#include <string>
#include <vector>

#include "cli/help.hpp"

namespace calcant::cli {

enum ExitCode { done = 0, cannot = 1, not_understood = 2, stopped = 3, own_fault = 4 };

// `words` without the program's own name. Results go to console.out, and so do errors as JSON where --json is among the
// words; the sentence of an error always goes to console.err.
int run_program(const std::vector<Group>& groups, const std::vector<std::string>& words, Console& console);

}  // namespace calcant::cli
