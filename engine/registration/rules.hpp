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
  // Where the hand with the lowest note is, if not there: the pedals go on below it (R17), under a solo its accompaniment.
  std::optional<KeyboardIndex> bass_on{};
  Use use = Use::chorus;
  std::optional<KeyboardIndex> solo_on;  // accompaniment: where the solo is
  std::optional<Phons> manual;           // predicted loudness of what the pedal carries and of the feet, where known
  std::optional<Phons> pedal;
  std::optional<LitresPerSecond> wind;    // demand of a full chord, where known
  std::optional<Celsius> box_above_room;  // kelvins the swell box is warmer than the room, where known
  int played = 0;                         // semitones the hands are moved: 12, all an octave higher than written
  bool soft = false;                      // something soft was asked for
};

// R16, phon: how far a pedal may be over the manual it carries, and under it before its bass is lost. Start values, ours; no
// source for the numbers.
inline constexpr double pedal_over_phon = 2.0;
inline constexpr double pedal_buried_phon = 10.0;

// Soft is foundations: 8 ft and 4 ft, as loud as it may be behind a shut box (R37: a church musician's pages, 2016; R4:
// common practice). What practice has against more, in the currency of a plan, of which two of one family and pitch (R6) cost
// a half; the figures are ours.
struct SoftPractice {
  static constexpr double below = 0.25;  // of the range from the softest to the loudest
  static constexpr double upperwork = 0.6;
  static constexpr double mixture = 2.0;
  static constexpr double reed = 1.5;  // of a chorus; not one meant for solos
  static constexpr double octaves = 1.0;
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

// Whether a manual has a Principal of its own for its upperwork to stand on (R4).
[[nodiscard]] bool has_principal_four(const Organ& organ, KeyboardIndex keyboard);

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
