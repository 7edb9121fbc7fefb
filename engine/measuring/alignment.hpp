// The sounds heard and the keys expected, brought together. Inside the part only.
#pragma once

#include <optional>
#include <vector>

#include "engine/measuring/decisions.hpp"
#include "engine/measuring/run_plan.hpp"
#include "engine/measuring/sounds.hpp"

namespace calcant::measuring {

// How well a sound fits a key's pipes. `times`: 1 as they ought, 2 an octave up, 3 a twelfth, 1.5 a fifth.
struct Fit {
  double quality = 0.0;  // 0 to 1
  double cents = 0.0;    // of the lines from where they should be, median
  double times = 1.0;
};
[[nodiscard]] Fit fit_of(const Sound& sound, const std::vector<double>& pipes, double offset_cents);

struct Aligned {
  Decisions decisions;        // the plan's keys in their order, then the extras
  std::vector<double> aim;    // hertz near which each one's pipe sounds; 0 for extras
  std::vector<double> times;  // of each decision
  double offset_cents = 0.0;  // of the whole run from the plan
};
[[nodiscard]] Aligned aligned(const RunPlan& plan, const Hearing& hearing, const Decisions& fixed);

}  // namespace calcant::measuring
