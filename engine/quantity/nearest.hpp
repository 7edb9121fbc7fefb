// "Perhaps you meant": the known word nearest to a mistaken one.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace calcant {

// By edit distance (Levenshtein 1966), the first of equals; empty when none is within a third of the word's length.
[[nodiscard]] std::string nearest(std::string_view word, const std::vector<std::string>& known);
// "; perhaps \"family\"", or nothing.
[[nodiscard]] std::string perhaps(std::string_view word, const std::vector<std::string>& known);

}  // namespace calcant
