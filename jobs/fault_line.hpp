// A fault as it is said: one line, read into an entry of the book.
#pragma once

#include <string_view>

#include "book/book.hpp"
#include "engine/organ/organ.hpp"
#include "engine/quantity/result.hpp"

namespace calcant {

// Reads "Pedal Bourdon F#2 dead", "Oboe 8 out of use", "Sw. Oboe late at tenor C in the cold": division and stop by name, in
// full or abbreviated (either alone where it is plain), a note as organists say it ("key 25" is counted from the bottom) or
// none for the whole stop, what was heard, and when. Nothing is passed over: a word that is not understood before what was
// heard, a second note and "not dead" are errors, and errors name the nearest known stop, or say what is missing. The day
// and the temperature are left empty.
[[nodiscard]] Result<BookFault> parse_fault(const Organ& organ, std::string_view line);

}  // namespace calcant
