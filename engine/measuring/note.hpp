// What one pipe does, as heard from where the recorder stood.
#pragma once

#include <optional>
#include <vector>

#include "engine/measuring/decisions.hpp"
#include "engine/measuring/foreign.hpp"
#include "engine/measuring/pitch.hpp"
#include "engine/quantity/note.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

// How a pipe comes to its sound. All times from the first sign of sound, not from the key.
struct HeardSpeech {
  Seconds rise;    // fundamental from 10 to 90 % of its steady amplitude
  Seconds speech;  // first sign to fundamental within 3 dB of steady
  double rise_periods = 0.0;
  double speech_periods = 0.0;
  bool room_limited = false;  // the room's build-up, not the pipe's, may be what was read: compare with neighbours only
  Seconds resolution;         // nothing shorter can be told: three periods, 5 ms at least
  std::optional<int> speaks_first{};  // harmonic heard 6 dB over the fundamental for a third of the first 0.3 s
  std::optional<Decibels>
      chiff{};  // noise 1 to 8 kHz in the first 0.1 s, beyond the steady noise, over the steady tone
};

// Two pipes, or a pipe beating with another: no single pitch.
struct HeardBeat {
  Hertz rate;  // of the fundamentals
  Cents apart;
  Decibels weaker;    // level of the second below the first
  bool plain = true;  // told even where the room makes harmonics swell of themselves
};

// What is said of a note in which one pipe was heard: of invented second pipes at most so much softer and beating so
// fast with the first (fundamentals), in notes so long, at least this share was told. From PairsSlow
// (docs/accuracy/measuring.md); a pipe 30 dB softer is never told.
struct PairLimit {
  Hertz slowest{0.3};
  Hertz fastest{4.0};
  Decibels softer{18.0};
  Seconds note{4.0};
  double told = 0.95;
};
inline constexpr PairLimit pair_limit{};

// One pipe of a key that sounds several by design. Where its line stands on a harmonic of a lower one (`shared`), what was
// heard is both.
struct HeardPipe {
  Hertz expected;
  std::optional<Hertz> hertz{};  // absent: not heard
  std::optional<Cents> cents{};  // from the organ's pitch at the stated temperature
  std::optional<Decibels> level{};
  bool shared = false;
};

struct MeasuredNote {
  int place = 0;  // in the plan's order, from 0
  Note key;
  NoteState state = NoteState::unsure;
  std::optional<Note> heard{};      // wrong: the key it sounds most like
  std::optional<Seconds> start{};   // first sign of sound, from the recording's start
  std::optional<Seconds> end{};     // release
  std::optional<Pitch> pitch{};     // absent when dead, beating, too short or lost in noise
  std::optional<Cents> cents{};     // from the organ's pitch at the stated temperature
  std::optional<Cents> cents_95{};  // half width: the pitch's own, temperature, recorder's clock, drift of the run
  Ruling ruled_by = Ruling::noise;  // what rules cents_95
  std::optional<Cents> in_run{};    // from the run's own middle
  std::optional<Cents> in_run_95{};
  std::optional<HeardSpeech> speech{};
  std::optional<Decibels> level{};     // of the comb; full-scale sine = 0, or sound pressure level when calibrated
  std::optional<Decibels> level_a{};   // the same A-weighted (IEC 61672-1)
  std::optional<Decibels> evenness{};  // standard deviation of the level in pieces of 0.1 s
  std::optional<Decibels>
      wind_noise{};        // noise 1 to 8 kHz while it sounds, what the gap before has taken off, over the tone
  double sounds_at = 1.0;  // 1; 2: the octave, 3: the twelfth, 1.5: the fifth speaks instead
  int pipes_heard = 0;
  std::vector<HeardPipe> mixture{};  // of a key with several pipes: no single pitch is given then
  std::optional<HeardBeat> beat{};
  std::optional<Seconds> late{};  // after the played beat or the key's noise, less the run's usual; only with either
  bool clipped = false;
  bool disturbed = false;  // a cipher or hum sounded through it; harmonics near its lines were left out
  std::string remark{};    // why a figure is missing, for people
};

namespace measuring {

// Samples round one note: `x` starts `origin` seconds into the recording; the sound is known to begin and end near
// `from` and `to` (recording's time) and to stand near `aim`.
struct NoteTask {
  std::vector<float> x;
  double rate = 0.0;
  double origin = 0.0;
  double from = 0.0;
  double to = 0.0;
  double aim = 0.0;
  double fundamental = 0.0;            // where the key's lowest pipe ought to be; aim / sounds_at
  std::vector<ForeignLine> foreign{};  // ciphers' lines: taken out of x
  std::vector<double> disturbing{};    // hertz of what stays in it (hum): kept away from
  std::vector<double> mixture{};       // hertz of all pipes of the key where it has several, as the plan says
};
// Fills start, end, pitch, speech, levels, noise, beat, pipes_heard, remark.
void measure_note(NoteTask& task, MeasuredNote& note, Bench& bench);

}  // namespace measuring
}  // namespace calcant
