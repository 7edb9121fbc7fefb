// A crescendo by the hand: the most even series of audible steps from soft to loud, few knobs moved at each, foundations
// first. docs/design/choosing.md has the objective and the constraints.
#pragma once

#include <string>
#include <vector>

#include "engine/registration/choose.hpp"

namespace calcant {

struct BuildUpWish {
  Phons from;
  Phons to;
  int steps = 10;  // registrations in the series, 2 to 24
  Registration must;
  Registration must_not;
};

struct BuildUpStep {
  Registration drawn;
  double phons = 0;                          // the mean over chords the search did not use
  int moved = 0;                             // knobs, from the step before
  bool box = false;                          // the box moves too
  double louder = 0;                         // phon, from the step before
  Difference difference = Difference::none;  // from the step before, the least on any of those chords
};

struct BuildUp {
  std::string name;
  std::vector<BuildUpStep> steps;
  // Largest step over smallest, in phon, on chords the search did not use; infinity where a step is no louder.
  double evenness = 0;
  bool every_step_heard = false;  // each at least 1 phon and audible on each of those chords
  double knobs = 0;               // moved, on average, from one to the next
};

struct BuildUpReport {
  BuildUp best;
  std::vector<BuildUp> others;  // by the usual orders, judged alike
  int asked = 0;
  Phons from;  // where it begins and ends: as asked, or the nearest level to it that may be drawn
  Phons to;
  std::string left_out;  // stops that were not considered, where the organ has too many; a sentence, or nothing
};

// The chooser must have a map: where an organ is too large for one, prepare it with `fewer_stops` forbidden. Refuses steps
// out of range, levels in the wrong order, and where not even two steps exist; stopped work.
[[nodiscard]] Result<BuildUpReport> build_up(Chooser& chooser, const BuildUpWish& wish, const Work& work);

// What a build-up on this keyboard can do without, where there are more than 16 stops: doublings of one family and pitch,
// second coupled divisions, octave couplers, celestes. Nothing forbidden where the organ is small enough.
[[nodiscard]] Registration fewer_stops(const Organ& organ, KeyboardIndex on, const Registration& must);

// The usual order (R4: soft 8 ft, flute 8, flute 4, Open Diapason 8, Principal 4, Swell coupled, 2 ft, Swell reeds, mixture,
// octave coupler, manual 16 ft), as far as this organ has it; and the same with the Swell coupled from the start and its
// box opened first (R33). Common practice; see docs/reference/rules.md.
[[nodiscard]] std::vector<Registration> usual_order(const Organ& organ, KeyboardIndex on, bool swell_first,
                                                    const Registration& forbidden = {});

// A series judged on chords: the figures of its steps.
[[nodiscard]] BuildUp judge_series(ChordEar& proof, std::string name, const std::vector<Registration>& series);

}  // namespace calcant
