// What a person types at a command or reads in a list: drawn stops and held keys as words.
#pragma once

#include <string>
#include <string_view>

#include "engine/organ/organ.hpp"
#include "engine/organ/registration.hpp"
#include "engine/quantity/result.hpp"

namespace calcant {

// Whether a name is meant: written in full, or each of its words abbreviated to some of its letters in their order, the
// first among them and at least two, two thirds of the word at most: "Op. Diap. 8" and "Vln Diap 8", "Sw to Gt". Upper and
// lower case, points, accents and foot marks are alike; lengths and numbers stand as they are.
enum class Meant { not_at_all, abbreviated, in_full };
[[nodiscard]] Meant meant(std::string_view typed, std::string_view name);

// "Open Diapason 8, Swell to Great; Swell: Oboe 8, Swell box=0.5" as a registration of this organ. Between names
// stands a comma or a semicolon; a name is a stop's (with its length, or without where only one bears it), a
// coupler's, a tremulant's, in full or abbreviated where that is plain, or an id; "Swell: Oboe" looks only in that
// division. Upper and lower case are alike. A box is set from 0 (shut) to 1 (open); one not named is open. Errors
// name every candidate of an ambiguous name, and the nearest known name of an unknown one. Empty text draws nothing.
[[nodiscard]] Result<Registration> parse_registration(const Organ& organ, std::string_view text);
// The same, written out in the order of the printed specification; parse_registration reads it back.
[[nodiscard]] std::string registration_text(const Organ& organ, const Registration& drawn);

// "Great", by name or id, upper and lower case alike; the error names the nearest and all there are.
[[nodiscard]] Result<KeyboardIndex> parse_keyboard(const Organ& organ, std::string_view text);

// "Great:C4,E4,G4 Pedal:C2" as keys held down, keyboards by name or id. A key the keyboard does not have is
// an error that says how far it goes. "C4-G4" holds every key between. Empty text holds nothing.
[[nodiscard]] Result<KeysDown> parse_keys(const Organ& organ, std::string_view text);
[[nodiscard]] std::string keys_text(const Organ& organ, const KeysDown& down);

}  // namespace calcant
