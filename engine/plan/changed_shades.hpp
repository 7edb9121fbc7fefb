// What registrations become where the user has said what is moved: nearly right and quickly, for each one the plan may
// choose before it.
#pragma once

#include <optional>
#include <vector>

#include "engine/plan/passages.hpp"
#include "engine/plan/vocabulary.hpp"
#include "engine/plan/voices.hpp"

namespace calcant {

class ChangedShades {
 public:
  // Knobs that are neither drawn in one of `shades` nor by a change of the passages are never asked for. Organ and scales
  // must outlive it. Not thread-safe.
  ChangedShades(const Organ& organ, Scales& scales, const std::vector<Shade>& shades,
                const std::vector<Passage>& passages);
  // Its level only; nothing is held against it.
  [[nodiscard]] Shade shade(const Registration& drawn, const HandsAndFeet& on);

 private:
  std::vector<Knob> none_;
  std::optional<Voices> voices_;
};

}  // namespace calcant
