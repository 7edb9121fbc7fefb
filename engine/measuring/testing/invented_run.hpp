// A whole run of an invented stop with faults planted in it, and the truth.
#pragma once

#include <cstdint>
#include <vector>

#include "engine/measuring/testing/invented.hpp"

namespace calcant::invented {

enum class Fault { none, tuning, level, slow, dead, cipher, wrong, octave, beating };

struct Key {
  int midi = 60;
  double expected = 0.0;  // hertz
  Fault fault = Fault::none;
  double size = 0.0;   // cents, dB, times, s; by fault
  double cents = 0.0;  // true, from expected
  double level_db = 0.0;
  double on = 0.0;  // s
  double off = 0.0;
};

struct RunRecipe {
  int rate = 22050;
  int lowest = 36;
  int keys = 60;
  double harmonic = 1.0;  // 1: 8 ft, 2: 4 ft
  double seconds_on = 2.6;
  double seconds_off = 1.2;
  double before = 3.0;
  double cents_spread = 0.8;  // of sound pipes about the course
  double level_spread = 0.6;
  double white_db = -65.0;
  double brown_db = -45.0;
  double hum_db = -200.0;
  double wander = 0.2;
  double whole_cents = 0.0;  // of the whole run from expected
  int faults = 6;
  bool sides = false;
  bool talk = false;
  bool played_beat = false;  // else the player is uneven by 0.15 s
  bool room = false;
  std::vector<Fault> kinds{Fault::tuning, Fault::level, Fault::slow, Fault::dead, Fault::cipher};
};

struct Run {
  int rate = 0;
  std::vector<float> sound;
  std::vector<Key> keys;  // in playing order
};
Run run(const RunRecipe& recipe, std::uint64_t seed);

}  // namespace calcant::invented
