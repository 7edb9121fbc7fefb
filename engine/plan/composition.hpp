// Composition pedals: what one press of a foot draws and puts in, as the organ file has it.
//
// A pedal sets the stops of its own division, and those only, to what it leaves drawn (fixed combinations, as such organs
// have them: docs/reference/organ-file.md). It moves the knobs themselves, so that a hand finds them where they are.
#pragma once

#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/plan/moves.hpp"

namespace calcant {

struct Composition {
  int accessory = 0;    // into Organ::accessories
  Jambs::Stops reach;   // the stops of its division
  Jambs::Stops leaves;  // of those, the ones it leaves drawn
  // What is drawn after it is pressed.
  [[nodiscard]] Registration pressed(Registration r) const {
    r.stops = (r.stops & ~reach) | leaves;
    return r;
  }
};

// Those worked by the foot whose division and stops are known and of which none that is left drawn is out of use. One that
// moves couplers or stops of another division is left to the player.
[[nodiscard]] std::vector<Composition> compositions(const Organ& organ);

}  // namespace calcant
