// Knobs that must and must not be drawn, in words.
#pragma once

#include <string>

#include "engine/organ/organ.hpp"
#include "engine/organ/registration.hpp"
#include "engine/quantity/result.hpp"

namespace calcant {

struct KnobsAsked {
  Registration must;
  Registration must_not;
};
// Refused: what must be drawn and must not, or is out of use on the day; boxes and tremulants. `where` is --must or --not.
[[nodiscard]] Result<KnobsAsked> knobs_asked(const Organ& organ, const std::string& must, const std::string& must_not);

}  // namespace calcant
