// The file of decisions: how a recording of a stop was cut up, one line a key, to be read, corrected and given back
// (docs/reference/decisions.md).
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/measuring/decisions.hpp"
#include "engine/quantity/result.hpp"

namespace calcant {

// The version this program writes and reads; a newer one is refused with a sentence.
inline constexpr int decisions_file_version = 1;
inline constexpr std::size_t decisions_file_limit = std::size_t{1} << 20;
inline constexpr std::size_t most_decisions = 4096;

struct DecisionsFile {
  std::string stop;       // id; what the recording is of
  std::string recording;  // file name, not its path
  Decisions decisions;    // in the order of the lines
};

// Lines a person marked with "!" are written with the mark again. Times to a thousandth of a second.
[[nodiscard]] std::string write_decisions(const DecisionsFile& file);

// `playing_order`: the keys of the plan; the n-th line of a key is its n-th turn. Every fault comes back in one Error, each
// with its place: an unknown word, a key that has no turn (or no further one), times that run backwards or beyond a day.
[[nodiscard]] Result<DecisionsFile> read_decisions(std::string_view text, std::string_view name,
                                                   const std::vector<Note>& playing_order);

}  // namespace calcant
