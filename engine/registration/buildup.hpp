// A crescendo by the hand: the most even series of audible steps from soft to loud, few knobs moved at each, foundations
// first. docs/design/choosing.md has the objective and the constraints.
#pragma once

#include <string>
#include <vector>

#include "engine/registration/choose.hpp"

namespace calcant {

// What a build-up is made of: only ever drawn, never put in.
struct BuildUpFrame {
  Registration full;      // everything that is heard (Chooser::everything); nothing where practice forbids that
  Registration knobs;     // stops and couplers that may be drawn
  bool left_out = false;  // some that a full organ has, or that could begin it, are not among them: there are too many
};
// Of all that `whole` has: what belongs to a full organ, its reeds only where full has them, and couplers at pitch; where
// that is more than 16 stops, those that full has first, one of each family and pitch, and what they stand on. Stopped work.
[[nodiscard]] Result<BuildUpFrame> build_up_frame(Chooser& whole, const Registration& must,
                                                  const Registration& must_not, const Work& work);
// All knobs but those of the frame: what a chooser may be forbidden, so that an organ too large for a map has one.
[[nodiscard]] Registration all_but(const Organ& organ, const BuildUpFrame& frame);

struct BuildUpWish {
  Phons from;
  Phons to;
  bool to_full = false;  // the last draws all that full has of the frame
  int steps = 10;        // registrations in the series, 2 to 24
  Registration must;
};

struct BuildUpStep {
  Registration drawn;
  double phons = 0;   // the mean over chords the search did not use
  int moved = 0;      // knobs, from the step before
  int ready = 0;      // stops of a division silent until then: drawn beforehand, not among `moved`
  double louder = 0;  // phon, from the step before
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
};

// The chooser must have a map that holds the frame. Refuses steps out of range, levels in the wrong order, what leaves
// nothing to draw, and where not even two steps exist, saying what levels there are; stopped work.
[[nodiscard]] Result<BuildUpReport> build_up(Chooser& chooser, const BuildUpFrame& frame, const BuildUpWish& wish,
                                             const Work& work);

// The usual order (R4: soft 8 ft, flute 8, flute 4, Open Diapason 8, Principal 4, Swell coupled, 2 ft, Swell reeds, mixture,
// manual 16 ft), as far as `last` has it, from `first` and at last to `last`; and the same with the Swell coupled from the
// start (R33). A box is shut when its division comes in and opened before the next stop. Common practice; see
// docs/reference/rules.md.
[[nodiscard]] std::vector<Registration> usual_order(const Organ& organ, KeyboardIndex on, bool swell_first,
                                                    const Registration& first, const Registration& last);

// A series judged on chords: the figures of its steps.
[[nodiscard]] BuildUp judge_series(ChordEar& proof, std::string name, const std::vector<Registration>& series);

}  // namespace calcant
