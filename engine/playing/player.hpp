// The player: how far two hands and two feet reach, how they like to pedal, and how long they need for a knob.
//
// Every figure has a default that says what it rests on; `player.toml` replaces it by the player's own. Nothing here is
// a rule for other people: a small hand is a figure, not a fault.
#pragma once

#include <string>
#include <string_view>

#include "engine/playing/touch.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/sourced.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

// How the pedal part is taken. legato: heels and toes of both feet. toes: toes of both feet. left_foot_only: the right
// stays on the swell pedal. simplified: both feet, but only changes of harmony and long notes.
enum class FeetStyle { legato, toes, left_foot_only, simplified };
[[nodiscard]] std::string_view word(FeetStyle s);  // "left-foot-only"
// One of the four words, as `--style` and player.toml have them.
[[nodiscard]] Result<FeetStyle> parse_feet_style(std::string_view text);

// What one hand can hold down, in semitones from its lowest to its highest key.
struct HandSpan {
  Sourced<int> comfortable;
  Sourced<int> most;
};

struct Player {
  std::string name = "player";
  HandSpan left;
  HandSpan right;

  FeetStyle feet = FeetStyle::legato;
  bool heel_on_sharps = false;
  Sourced<int> foot_span;  // semitones one foot can hold or join by heel and toe
  Touch touch;             // of hymns

  Sourced<Seconds> one_knob;        // hand off the keys, one knob, hand back
  Sourced<Seconds> further_knob;    // each further knob of the same trip
  Sourced<Seconds> foot_accessory;  // foot off the pedals, a composition pedal or reverser, foot back
  Sourced<Seconds> page_turn;       // hand off the keys, turn, hand back
  Sourced<Seconds> leap;            // a hand goes an octave further than it spans, and strikes surely
  bool helper = false;              // somebody stands by to draw knobs and turn pages
  bool turns_own_pages = true;
};

// The documented defaults: spans of an octave and a ninth (Parncutt et al. 1997, from memory); 1.5 s for a knob and
// 0.5 s for each further one (derived from Fitts' law, never measured at a console); 0.3 s for a leap of an octave (common
// practice, no source); no heel on a sharp and at most a
// major third under one foot (what one editor's 454 marks show).
[[nodiscard]] Player default_player();

// Seconds a trip to `knobs` knobs takes this player; 0 for none.
[[nodiscard]] Seconds seconds_for(const Player& p, int knobs);

}  // namespace calcant
