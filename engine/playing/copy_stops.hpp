// Stops as a printed copy names them, found on this organ: by name, by family ("reeds"), by pitch ("8 & 4 ft"), and where no
// stop is called so by one of like kind and pitch.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/organ/organ.hpp"

namespace calcant {

struct CopyStop {
  std::string name;              // as the copy has it, small: "flute 4", "reeds"
  std::vector<StopIndex> stops;  // of this organ, any of which is meant; none: it has no such stop
  bool instead = false;          // none is called so: these are of its kind and pitch
  bool foundations = false;      // "Diapasons", "foundations": the other 8 ft flues go with them
  [[nodiscard]] bool here() const { return !stops.empty(); }
};

// Small words of a clause, "&" and "+" as words of their own: {"sw", "diapason", "8", "&", "flute", "4ft"}.
using CopyTokens = std::vector<std::string>;

// The division an English or American copy means by a word, "Great", "Swell", "Choir", "Pedal"; empty: by none.
[[nodiscard]] std::string_view copy_division(std::string_view word);
// Of this organ; nothing where it has none of that name.
[[nodiscard]] std::optional<DivisionIndex> copy_division_of(const Organ& organ, std::string_view division);

// Every stop that is named, of one division, or of any where none is given. `known`: words that are no stop this organ or
// the trade knows ("solo", "expressive") are passed over; else each stands as a stop that is not here.
[[nodiscard]] std::vector<CopyStop> copy_stops(const Organ& organ, const CopyTokens& words,
                                               std::optional<DivisionIndex> division, bool known);

}  // namespace calcant
