// A day as people write it.
#pragma once

#include <string>
#include <string_view>

namespace calcant {

// "2026-11-29" as "Sunday 29 November 2026"; what is no such date stands as it was given.
[[nodiscard]] std::string day_in_words(std::string_view date);
// The same without the day of the week: "29 November 2026".
[[nodiscard]] std::string date_in_words(std::string_view date);

}  // namespace calcant
