// What every printed page shares: escaping, and the frame with the house's print style.
#pragma once

#include <string>
#include <string_view>

namespace calcant {

// Text as HTML: & < > " ' by their names, and the notes' names with their signs: "F♯2", as the desk has them.
[[nodiscard]] std::string escaped(std::string_view text);

// Text that a line may be broken in behind commas and semicolons only: names of stops stay in one piece.
[[nodiscard]] std::string tied(std::string_view text);

// A whole document: language, title, style, body. `extra_css` is the page's own; the frame's holds type, margins and A4.
[[nodiscard]] std::string page(std::string_view title, std::string_view extra_css, std::string_view body);

}  // namespace calcant
