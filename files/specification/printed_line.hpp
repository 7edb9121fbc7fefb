// Single lines of a printed specification: is it a heading, a stop, a coupler? Inside this part only.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "files/specification/printed_text.hpp"
#include "files/specification/specification.hpp"

namespace calcant::printed {

// "great" for Great, Gt, Gt., GREAT ORGAN's first word; empty for what is no division.
[[nodiscard]] std::string division_word(std::string_view word);

// The number of keys said in words: "56 notes", "CC to G".
[[nodiscard]] std::optional<int> compass(std::string_view text, bool pedal);

[[nodiscard]] std::optional<DraftDivision> heading(std::string_view text);
// `needs_length`: a name alone is not enough.
[[nodiscard]] std::optional<DraftStop> stop(std::string_view text, bool needs_length);
// `here`: the division the line stands under, for "Octave" and "Unison Off"; empty for none.
[[nodiscard]] std::optional<DraftCoupler> coupler(std::string_view text, std::string_view here);

}  // namespace calcant::printed
