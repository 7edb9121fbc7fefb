// What is said of a hymn's plan: why a registration, and what was assumed.
#pragma once

#include <string>
#include <vector>

#include "engine/plan/hymn_parts.hpp"
#include "engine/plan/vocabulary.hpp"

namespace calcant {

// A whole sentence: what is drawn, for which word, and whether it is enough for the singers.
[[nodiscard]] std::string reason(const Hymn& hymn, const HymnPart& part, const Shade& shade, Phons loudness,
                                 const SingersLevel& singers);

// Where a word asks for another sound than what goes before, and it is not heard: a note and a sentence why.
void told_if_unheard(Section& s, const Hymn& hymn, const HymnPart& part, const HymnPart& before, const Shade& from,
                     const Shade& to);

// What was asked of mixtures and reeds: with the verse's kind where it is so, else in its note.
void tell_stops(Section& s, const HymnPart& part, const Shade& shade);

// What of the organ and its vocabulary a hymn's remarks hang on.
struct HymnLimits {
  SingersLevel singers;
  Phons fullest;
  bool pedals = false;
  bool sixteen = false;  // in the pedals
};
// What was assumed or could not be had, whole sentences.
[[nodiscard]] std::vector<std::string> remarks_of(const Hymn& hymn, const HymnLimits& limits);

}  // namespace calcant
