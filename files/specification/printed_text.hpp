// The letters, words and columns of a printed line. Inside this part only.
#pragma once

#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace calcant::printed {

[[nodiscard]] bool digit(char c);
[[nodiscard]] bool is_one_of(std::string_view word, std::initializer_list<std::string_view> list);
[[nodiscard]] std::optional<int> whole(std::string_view s);  // digits alone
[[nodiscard]] std::optional<int> roman(std::string_view s);  // "I" to "VIII"

// A line as it is read: one alphabet for quotation marks, dashes and fractions, dotted leaders as wide gaps, nothing that
// is not text.
[[nodiscard]] std::string cleaned(std::string_view line);

struct Cell {
  std::string text;
  int column = 0;  // where it begins, in letters
};
// The columns of a cleaned line: parts between wide gaps, a length joined to the name before it.
[[nodiscard]] std::vector<Cell> cells(std::string_view line);

[[nodiscard]] std::vector<std::string> words(std::string_view text);

}  // namespace calcant::printed
