// A day as people write it on a sheet.
#pragma once

#include <string>
#include <string_view>

namespace calcant {

// "2026-11-29" as "Sunday 29 November 2026"; what is no such date stands as it was given.
[[nodiscard]] std::string day_in_words(std::string_view date);

}  // namespace calcant
