// How high a steadily sounding pipe stands, and how surely that is known.
#pragma once

#include <span>
#include <string_view>
#include <vector>

#include "engine/measuring/comb.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

// What set the width of an uncertainty.
enum class Ruling { noise, wind, room, temperature, drift, recorder };
// "noise", "wind", "room", ... as JSON gives it.
[[nodiscard]] std::string_view word(Ruling r);

// One pipe's steady sound. Pitch is the mean over the stretch listened to: phase gained by the comb of harmonics,
// divided by time.
struct Pitch {
  Hertz hertz;
  // Half the 95 % interval for the pipe's own pitch, as it would be found by listening for ever: Student's t over the
  // slow cosine parts of the pitch's course (equal-weighted cosine estimate of its long-run variance: Lazarus, Lewis,
  // Stock & Watson, J. Business & Econ. Statistics 36 (2018) 541), which allows for the wind's wander being correlated
  // from one moment to the next (a room's after-sound shows in the same way); noise added.
  Cents half_width_95;
  Ruling ruled_by = Ruling::noise;
  Seconds from;                     // where in the sound the stretch listened to begins,
  Seconds stretch;                  // and how long it is
  Cents drift_per_second;           // straight line through the course
  Cents unsteadiness;               // standard deviation about that line, what noise would give taken off
  Decibels over_noise;              // power of the comb over noise in the same bands
  std::vector<Decibels> harmonics;  // level of each, full-scale sine = 0 dB; below noise: -200
};

namespace measuring {

// What measure_pitch is told beside the sound.
struct PitchAim {
  double expected = 0.0;  // hertz, within `range` cents of the truth
  double range = 60.0;    // cents searched on both sides
  int most_harmonics = 16;
  std::vector<double> disturbing{};  // hertz of foreign lines (a cipher, hum): harmonics near them are not used
};

// Pitch with what it was read from, for the other figures of the note.
struct PitchFit {
  Pitch pitch;
  Course course;                  // of the thinned sound; frames stand from the start of `steady`
  std::vector<double> amplitude;  // by harmonic
  std::vector<double> noise;      // density by harmonic
  std::vector<bool> used;
};

// `steady` is the sound with onset and release already cut off, at least 0.3 s and 8 periods of it. An error says what
// was not there.
[[nodiscard]] Result<PitchFit> fit_pitch(std::span<const float> steady, double rate, const PitchAim& aim, Bench& bench);

}  // namespace measuring
}  // namespace calcant
