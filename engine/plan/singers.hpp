// How loud people singing are: what an organ has to stand up to.
//
// An ordinary singer in a congregation is taken to radiate 74 dB re 1 pW, give or take 5 (assumed; from memory of the vocal
// efforts of ISO 9921, "raised": 66 dB(A) at 1 m in front); partials fall by 6 dB an octave to 1 kHz and
// 12 dB beyond (assumed). Nobody has measured this congregation: every verdict is given at both ends of the band.
#pragma once

#include "engine/hearing/loudness.hpp"
#include "engine/listening/listening.hpp"
#include "engine/plan/scales.hpp"

namespace calcant {

struct Singers {
  int count = 40;
  Decibels each{74};  // sound power, dB re 1 pW
  double band = 5;    // dB either way
};

struct SingersLevel {
  Phons low;
  Phons middle;
  Phons high;
};
// Singing the trebles of these chords, half of them an octave lower, heard in the nave.
[[nodiscard]] SingersLevel loudness(const Singers& singers, const Scales& scales);

}  // namespace calcant
