// How this organ's couplers pass through one another: the three-step console test, and what is assumed until it is done.
#pragma once

#include <string>
#include <vector>

#include "jobs/context.hpp"

namespace calcant {

// One step of the trial (engine/organ/coupler_trial.hpp) in words.
struct CouplerStep {
  std::string draw;              // "Swell: Violin Diapason 8, Swell to Great, Swell Octave", as --draw takes it
  std::string keys;              // "Great:C4"
  std::string question;          // "Is one pitch heard, or two an octave apart?"
  std::string if_carried;        // "two pitches"
  std::string if_not;            // "one pitch"
  bool assumed_carried = false;  // what the organ file says
  bool tried = false;            // at the console; until then it is assumed
  std::string through;           // id of the coupler whose `carries` this settles
  std::string carried;           // id of the one it would carry
};
[[nodiscard]] std::vector<CouplerStep> coupler_steps(const OrganContext& context);
[[nodiscard]] std::string json_text(const std::vector<CouplerStep>& steps);

}  // namespace calcant
