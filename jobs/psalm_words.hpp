// A psalm as it is typed: "23, single chant, F, 6 verses", "Psalm 121, double chant, E flat, 8 verses, no Gloria".
#pragma once

#include <string_view>

#include "files/service/service.hpp"

namespace calcant {

// The psalm's number first, with the chant's name behind it where it has one; then, between commas and in any order, single
// or double chant (single unless said), a key, verses and whether the Gloria is sung (it is, unless said). The same line as a
// board has: board.hpp makes it what is to be planned. Verses must be said, 1 to 60
// as on a board.
[[nodiscard]] Result<ServiceItem> parse_psalm(std::string_view text);

}  // namespace calcant
