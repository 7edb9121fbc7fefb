// Where in a hymn, psalm or piece from paper a wish is meant.
#pragma once

#include <string>

#include "engine/plan/hymn.hpp"
#include "files/wishes/wishes.hpp"

namespace calcant {

// The verse a place means, counted from 0; the play-over is -1. In a piece from paper a place by page, system and bar that
// has none yet gets one, that goes on as what is before it. Errors, at `where`: a verse that is not sung; a place of which
// it cannot be told what it comes before.
[[nodiscard]] Result<int> place_in(Hymn& hymn, const WishPlace& place, const std::string& where);

}  // namespace calcant
