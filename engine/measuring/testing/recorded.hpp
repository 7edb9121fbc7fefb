// Recorded instruments, as far as this machine has any: notes of Debian's fluid-soundfont-gm (FluidR3_GM, MIT licence) played
// by fluidsynth as a separate program. Samples of real instruments, cut and looped by their makers: not church pipes.
#pragma once

#include <string>
#include <vector>

namespace calcant::recorded {

struct Instrument {
  std::string name;
  int programme = 0;     // General MIDI, from 0
  bool one_pipe = true;  // else several sound on every key: no single pitch is true of them
  std::vector<int> keys;
};
// Recorder, bagpipe (chanter with drones), church organ (a chorus); keys within their own compass.
[[nodiscard]] std::vector<Instrument> instruments();

// The keys one after the other, 4 s on and 2 s off, the first after 1 s; mono, without reverberation and chorus. Empty
// when fluidsynth or the sound font is not installed.
[[nodiscard]] std::vector<float> played(const Instrument& instrument, int rate);

// The same sound `cents` higher (and as much shorter), by band-limited interpolation (libsamplerate, best quality).
[[nodiscard]] std::vector<float> raised(const std::vector<float>& sound, double cents);

}  // namespace calcant::recorded
