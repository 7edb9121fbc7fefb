// What is wrong in a file a person wrote: where, the line itself with a caret, what was wrong and what would
// be right.
#pragma once

#include <string>
#include <vector>

#include "engine/quantity/result.hpp"

namespace calcant {

struct Fault {
  std::string file;
  int line = 0;         // from 1; 0: the file as a whole
  int column = 0;       // from 1, in characters; 0: the whole line
  std::string text;     // the line itself, without its end; long lines are cut around the column
  int caret = 0;        // where in `text` the fault stands, from 0
  std::string message;  // a whole sentence: what was wrong and what would be right

  friend bool operator==(const Fault&, const Fault&) = default;
};

// "organ.toml:41:9: message", then the line and a caret under the place.
[[nodiscard]] std::string to_string(const Fault& f);
// All of them, one after another, in the order of the file.
[[nodiscard]] std::string to_string(const std::vector<Fault>& faults);
// For those who hand on one Error: every fault in its message, `where` the place of the first.
[[nodiscard]] Error as_error(const std::vector<Fault>& faults);

}  // namespace calcant
