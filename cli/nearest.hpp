// The known word nearest to a mistyped one.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace calcant::cli {

// Nothing where no known word is near enough to be what was meant (letters left out, put in, changed or swapped: at most
// a third of them, and never more than 3).
[[nodiscard]] std::optional<std::string> nearest(std::string_view word, const std::vector<std::string>& known);

}  // namespace calcant::cli
