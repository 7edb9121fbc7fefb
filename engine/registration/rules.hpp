// Rules of practice for what is drawn: advice with a reason and a source, never a ban. The player's ear decides.
//
// Numbers R1 to R43 are those of the project's list of published practice (docs/reference/rules.md). What can be told
// from a registration and the keyboard played is tested here; what needs the music is told by the plan.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/organ/registration.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

// What the registration is for.
enum class Use { chorus, hymn, solo, accompaniment, colour };

struct Occasion {
  KeyboardIndex on = 0;  // where the hands are
  Use use = Use::chorus;
  std::optional<KeyboardIndex> solo_on;  // accompaniment: where the solo is
  std::optional<Phons> manual;           // predicted loudness of the hands' chords and of the feet, where known
  std::optional<Phons> pedal;
  std::optional<LitresPerSecond> wind;    // demand of a full chord, where known
  std::optional<Celsius> box_above_room;  // kelvins the swell box is warmer than the room, where known
  int played = 0;                         // semitones the hands are moved: 12, all an octave higher than written
};

enum class Weight { advice, warning, against };  // "against": published practice is plainly against it
[[nodiscard]] std::string_view word(Weight w);

struct Advice {
  std::string rule;  // "R3"
  Weight weight = Weight::advice;
  std::string found;  // what was found, with the stops' names
  std::string why;
  std::string source;
};

// Whether a string is of the keen kind that spoils diapasons most (R7): a gamba, by its name.
[[nodiscard]] bool is_keen(const Stop& s);

// In the order of the rules; empty where none has anything to say.
[[nodiscard]] std::vector<Advice> advise(const Organ& organ, const Registration& drawn, const Occasion& playing);

// One voice as heard from a keyboard: a drawn stop by one path, and where it sounds.
struct HeardStop {
  StopIndex stop;
  int semitones;  // its unison note against the key: 0 for 8 ft, 12 for 4 ft or an 8 ft by the octave coupler
  bool coupled;   // not by the keyboard's own unison path
};
// What a keyboard draws on, each stop once for every pitch, by stop. Found at tenor C, middle C and treble C, so that
// short stops count. Mixtures count with each of their ranks.
[[nodiscard]] std::vector<HeardStop> heard_from(const Organ& organ, const Registration& drawn, KeyboardIndex keyboard);

}  // namespace calcant
