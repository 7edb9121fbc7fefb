// feet.toml: foot marks that the player has settled for one piece; all the rest is solved round them.
//
//   version = 1
//   marks = [
//     "bar 12, beat 2 1/2: left toe",   # a place, a colon, and a foot, a part or both
//     "bar 14, beat 1, G2: right heel", # the note is named where the feet have two at once
//     "n57: L^",                        # or the note's id, as the marked copy and --json have it
//   ]
//
// What a mark means needs the score; that is jobs/fixed_foot.hpp.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/result.hpp"

namespace calcant {

inline constexpr int feet_file_version = 1;
inline constexpr std::size_t feet_file_limit = std::size_t{256} << 10;
inline constexpr std::size_t most_feet_marks = 5000;

struct FeetFileMark {
  std::string text;
  std::string where;  // "feet.toml:5:3"
};

// Every fault comes back in one Error, each with its place; unknown keys are faults and name the nearest known one.
[[nodiscard]] Result<std::vector<FeetFileMark>> read_feet_file(std::string_view text, std::string_view name);

}  // namespace calcant
