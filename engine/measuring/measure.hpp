// A run of notes from a recording: what every pipe does.
#pragma once

#include <string>
#include <vector>

#include "engine/measuring/findings.hpp"
#include "engine/measuring/note.hpp"
#include "engine/measuring/run_plan.hpp"
#include "engine/quantity/work.hpp"

namespace calcant {

struct MeasuredRun {
  std::vector<MeasuredNote> notes;  // one for each key of the plan, in its order
  Decisions decisions;              // how the recording was cut up; can be corrected and given back
  std::vector<Finding> findings;
  Seconds length;                    // of the recording
  Cents off_plan;                    // middle of the run from the plan's pitch at the stated temperature
  Cents drift;                       // from the run's beginning to its end, where repeated keys or the trend tell
  std::vector<std::string> remarks;  // for people: clipping, hum, ciphers, what could not be read
};

// `fixed`: decisions by a person (Decision::fixed), the rest is solved again. Refused: a plan without keys or with more
// than 512, a pipe outside 8 Hz to 16 kHz, a recording shorter than half a second, silent, longer than 24 hours, or
// whose reading fails. A run in which no planned key is heard is no error: all are then dead, and a remark says so.
[[nodiscard]] Result<MeasuredRun> measure_run(const Recording& recording, const RunPlan& plan,
                                              const Decisions& fixed = {}, const Work& work = {});

}  // namespace calcant
