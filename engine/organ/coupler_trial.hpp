// The three-step trial at the console: how couplers pass through one another. One stop drawn, two couplers,
// one key held, and the ear says which of two answers is this organ's. Common practice of English organists,
// no published source.
#pragma once

#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/organ/registration.hpp"

namespace calcant {

struct CouplerTrial {
  CouplerIndex first;      // the coupler that brings the notes
  CouplerIndex second;     // does it act on them?
  StopIndex stop;          // the only stop drawn
  KeyboardIndex keyboard;  // where the key is held
  Note key;
  std::vector<PipeId> if_not_carried;  // what sounds if it does not: one pipe, or none
  std::vector<PipeId> if_carried;      // and if it does
  bool assumed_carried = false;        // what the organ file says
  bool tried = false;                  // and whether that was tried
};

// Up to three steps: an octave coupler through a manual coupler, a manual coupler through a pedal coupler, a
// sub-octave coupler through a manual coupler; those this organ has couplers and a stop for, in that order.
[[nodiscard]] std::vector<CouplerTrial> coupler_trials(const Organ& organ);

}  // namespace calcant
