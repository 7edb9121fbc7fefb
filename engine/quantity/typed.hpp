// What a person typed, made ready to be read.
#pragma once

#include <string>
#include <string_view>

namespace calcant {

// Without blanks at either end.
[[nodiscard]] std::string_view trimmed(std::string_view text);
// With small letters for the capitals of the Latin alphabet; others stay as they are.
[[nodiscard]] std::string lower(std::string_view text);

}  // namespace calcant
