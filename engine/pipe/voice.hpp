// The voice of one pipe in order: what it radiates when steady, how it comes onto speech, and the wind it takes.
//
// A documented parametric model (docs/accuracy/pipe.md names every assumption): family and form give the envelope of
// the partials, scale, mouth and cut-up tilt it, the place in the compass changes it, wind pressure and size give the
// power. What was measured (overlay) replaces what the model says.
#pragma once

#include <vector>

#include "engine/air/air.hpp"
#include "engine/organ/organ.hpp"
#include "engine/quantity/lines.hpp"

namespace calcant {

// One partial of a steady pipe.
struct Partial {
  double harmonic;        // 1, 2, 3 ... times the pipe's frequency
  Decibels power;         // radiated sound power, dB re 1 pW
};

struct Speech {
  double rise_periods;        // periods of the fundamental from the start to 90 % of its steady amplitude
  std::vector<double> partial_rise_periods;  // the same for each partial, in the order of `partials`
  Decibels chiff;             // level of the attack noise against the steady sound
  double transient_harmonic;  // the partial that leads the attack: 2 octave, 3 twelfth, 0 none
  Decibels transient;         // its surplus during the attack, against its steady level
  Seconds release;            // time constant of the pipe's own decay when the pallet shuts
};

struct Voice {
  Hertz frequency;              // in tune at the temperature asked for
  std::vector<Partial> partials;  // rising; those above 16 kHz or 75 dB under the strongest are left out; never empty
  Decibels wind_noise;          // power of the steady hiss, dB re 1 pW, centred on `noise_centre`, an octave each way
  Hertz noise_centre;
  Speech speech;
  LitresPerSecond wind;         // what it takes while it sounds
  Source level_source;          // what the level rests on
};

// The voice of a pipe of this organ, its own box left out of account, in air of this temperature and humidity.
[[nodiscard]] Voice voice(const Organ& organ, PipeId pipe, const Air& air);

}  // namespace calcant
