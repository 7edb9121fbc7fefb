// Another pipe sounding through the one that is measured, taken out of the samples. Inside the part only.
#pragma once

#include <span>
#include <vector>

namespace calcant::measuring {

// A steady line that is no part of the note: a cipher's harmonic.
struct ForeignLine {
  double hertz = 0.0;
  double from = 0.0;  // s, in the recording's time
  double to = 0.0;
};

// The note amid it: its harmonics stand at multiples of `fundamental`, it begins near `onset`.
struct Amid {
  double fundamental = 0.0;
  double onset = 0.0;
};

// Takes the lines out of `x`, which starts `origin` seconds into the recording: each one's slow course (three running
// means, their zero on the note's nearest harmonic) is taken off; across the note's beginning, where a filter would
// smear it, the course is drawn straight from before to after. Lines that stand too near a harmonic of the note to be
// told from it within 0.7 s are left: their frequencies are returned.
std::vector<double> take_away(std::span<float> x, double rate, double origin, const std::vector<ForeignLine>& lines,
                              const Amid& note);

}  // namespace calcant::measuring
