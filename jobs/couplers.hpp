// How this organ's couplers pass through one another: the three-step console test, and what is assumed until it is done.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "book/book.hpp"
#include "jobs/context.hpp"

namespace calcant {

// What may be heard in a step, and what that settles: whether it is carried, or nothing.
struct CouplerAnswer {
  std::string heard;  // "two pitches", "silence", "a wrong note"
  std::optional<bool> carries;
};

// One step of the trial (engine/organ/coupler_trial.hpp) in words.
struct CouplerStep {
  std::string draw;              // "Swell: Violin Diapason 8, Swell to Great, Swell Octave", as --draw takes it
  std::string keys;              // "Great:C4"
  std::string question;          // "Is one pitch heard, or two an octave apart?"
  std::string if_carried;        // "two pitches"
  std::string if_not;            // "one pitch"
  bool assumed_carried = false;  // what holds of this organ, as tried or as its file says
  bool tried = false;            // at the console; until then it is assumed
  std::vector<CouplerAnswer> answers;
  std::optional<CouplerHeard> last;  // what the book says was heard
  std::string through;               // id of the coupler whose `carries` this settles
  std::string carried;               // id of the one it would carry
};
// `heard`: what the book knows of earlier trials.
[[nodiscard]] std::vector<CouplerStep> coupler_steps(const OrganContext& context,
                                                     const std::vector<CouplerHeard>& heard = {});
// One of the answers of one of the steps, for the book; nothing heard takes the last one away. Errors name the step or
// the answer that is not known.
[[nodiscard]] Result<CouplerHeard> heard_in(const std::vector<CouplerStep>& steps, CouplerHeard said);
[[nodiscard]] std::string json_text(const std::vector<CouplerStep>& steps);

}  // namespace calcant
