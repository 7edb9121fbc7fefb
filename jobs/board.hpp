// A hymn board's items as what is to be planned.
#pragma once

#include "engine/plan/hymn.hpp"
#include "files/service/service.hpp"

namespace calcant {

// A hymn or psalm of the board. Errors name what is missing or not understood.
[[nodiscard]] Result<Hymn> sung_item(const ServiceItem& item, const Service& service, const Wordbook& words);
// A piece from paper, music to fill a time, or a note to give: its places, or one registration throughout.
[[nodiscard]] Hymn unscored_item(const ServiceItem& item, const Wordbook& words);
// What stands on the front of the sheet for any item: the note to give, where to cut.
[[nodiscard]] std::vector<std::string> console_notes(const ServiceItem& item);

}  // namespace calcant
