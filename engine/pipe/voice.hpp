// The voice of one pipe in order: what it radiates when steady, how it comes onto speech, and the wind it takes.
//
// A documented parametric model (docs/accuracy/pipe.md names every assumption and its standing): a flue pipe's wind
// power comes from pressure, mouth and windway, a stated share of it is radiated; the partials lie on two straight trend
// lines against the logarithm of frequency (C. Pykett, Pipe scales and harmonic spectra, 2016), the first tilted by
// the jet (Ising's number) and the scale, the second beginning where the pipe is no longer narrow against the wave; so
// wide pipes are fluty, narrow ones stringy, high cut-ups dull, and every rank purer towards its top. What was measured
// (overlay) replaces what the model says.
#pragma once

#include <vector>

#include "engine/air/air.hpp"
#include "engine/organ/organ.hpp"
#include "engine/quantity/lines.hpp"

namespace calcant {

// What one pipe is made like: all the model looks at.
struct PipeDesign {
  Family family = Family::principal;
  Form form = Form::open;
  Hertz frequency{261.63};  // what it sounds
  Metres diameter{
      0.05498};          // inside, or of the round pipe of equal area; of a reed: how wide its kind (an oboe narrow)
  double mouth = 0.25;   // width as a share of the circumference
  double cut_up = 0.25;  // height as a share of the width
  Pascals wind{735.5};   // in the chest
  Decibels loudness{};   // moves it against what its kind predicts: rank's and pipe's figures together
  Source level_source = Source::computed;  // what its level rests on
  std::vector<double> reshape_db{};        // what to add to the model's partials 1, 2, 3 ...; the last holds on above
  Source spectrum_source = Source::assumed;
};
// As the organ's file and overlay say, what they leave out as is usual for the kind (usual.hpp). Wind not said: 75 mm.
// A spectrum known of this very pipe replaces the model's; of other pipes of the rank, how they differ from the model
// is carried over, between two of them in proportion.
[[nodiscard]] PipeDesign design(const Organ& organ, PipeId pipe, const Air& air);

// One partial of a steady pipe.
struct Partial {
  double harmonic;  // 1, 2, 3 ... times the pipe's frequency
  Decibels power;   // radiated sound power, dB re 1 pW
};

struct Speech {
  double rise_periods;  // periods of the fundamental from the start to 90 % of its steady amplitude
  std::vector<double> partial_rise_periods;  // the same for each partial, in the order of `partials`
  Decibels chiff;                            // level of the attack noise against the steady sound
  double transient_harmonic;                 // the partial that leads the attack: 2 octave, 3 twelfth, 0 none
  Decibels transient;                        // its surplus during the attack, against its steady level
  Seconds release;                           // time constant of the pipe's own decay when the pallet shuts
};

struct Voice {
  Hertz frequency;                // in tune at the temperature asked for
  std::vector<Partial> partials;  // rising; those above 16 kHz or 75 dB under the strongest are left out, at most 128;
                                  // never empty
  Decibels wind_noise;            // power of the steady hiss, dB re 1 pW, centred on `noise_centre`, an octave each way
  Hertz noise_centre;
  Speech speech;
  LitresPerSecond wind;                      // what it takes while it sounds
  Source level_source;                       // what the level rests on
  Source spectrum_source = Source::assumed;  // measured or given at this pipe; computed from neighbours; else assumed
};

[[nodiscard]] Voice voice(const PipeDesign& pipe, const Air& air);
// The voice of a pipe of this organ, its own box left out of account, in air of this temperature and humidity.
[[nodiscard]] Voice voice(const Organ& organ, PipeId pipe, const Air& air);

// The wind alone, as voice() gives it.
[[nodiscard]] LitresPerSecond wind_taken(const PipeDesign& pipe, const Air& air);
// All partials together, dB re 1 pW.
[[nodiscard]] Decibels power(const Voice& v);

}  // namespace calcant
