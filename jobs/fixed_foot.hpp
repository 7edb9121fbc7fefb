// A foot mark that the player wants, as it is typed.
#pragma once

#include <string_view>

#include "engine/playing/feet.hpp"

namespace calcant {

// "bar 12, beat 2 1/2: left toe", "12, 3, G2: R^", "n57: right": a place, a colon and what is wanted there. The beat is
// counted as it is printed everywhere (in the time signature's own beats; 1 at the barline); the note is named only where
// the feet have two at once. A note's id, as in the marked copy and in JSON, stands for the whole place. Wanted are a foot
// (left, right, L, R), a part (toe, heel, ^, o) or both. Errors say what the feet play in that bar.
[[nodiscard]] Result<FixedFoot> parse_fixed_foot(const Score& score, std::string_view text);

}  // namespace calcant
