// Chords that registrations are weighed on, where the user gives his own in place of the stated ones.
#pragma once

#include <string>
#include <vector>

#include "engine/organ/registration.hpp"
#include "jobs/context.hpp"

namespace calcant {

struct ChordsAsked {
  std::string typed;    // "C3 G3 C4 E4; C4 E4 G4 C5": up to six, of one to ten keys each
  std::string passage;  // or a score file: up to six chords of its hands, spread evenly
  std::string bars;     // of the passage, by their printed numbers: "9" or "9-16"; empty: all of it
  [[nodiscard]] bool any() const { return !typed.empty() || !passage.empty(); }
};
// On this keyboard, every key of them; nothing where nothing is asked. Errors: what is no note or not on the keyboard,
// bars that are not there or in which the hands rest, a score that cannot be read, both kinds asked at once.
[[nodiscard]] Result<std::vector<KeysDown>> chords_asked(const OrganContext& context, const ChordsAsked& asked,
                                                         KeyboardIndex on);

}  // namespace calcant
