// A steady sound as spectral lines: what the ear model takes and what a pipe, a registration or a chord gives.
#pragma once

#include <vector>

#include "engine/quantity/units.hpp"

namespace calcant {

// One sinusoid: its frequency and its sound pressure level, dB re 20 uPa (at a place), or its sound power level, dB re
// 1 pW (at the source); which of the two is said by whoever hands it over.
struct Line {
  Hertz frequency;
  Decibels level;

  friend bool operator==(const Line&, const Line&) = default;
};

// In no particular order; several lines may share a frequency (their powers add).
using Lines = std::vector<Line>;

}  // namespace calcant
