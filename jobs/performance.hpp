// What the pipes do when a planned score is played: the bridge from plan and score to sound.
#pragma once

#include "engine/organ/organ.hpp"
#include "engine/plan/plan.hpp"
#include "engine/score/score.hpp"
#include "engine/sound/performance.hpp"

namespace calcant {

struct PerformanceSettings {
  double quarters_per_minute = 80;  // where the score has none
  std::optional<double> tempo;      // overrules the score's
  double gap_quarters = 2;          // between verses
};

// One item of a plan played from its score: a hymn once for each verse with that verse's registration, a piece once
// through with its cues at their places. A key struck again at once is let go a little earlier before (a sixteenth of a
// second, at most half its length), so that it is heard again; at the end of a hymn's line all lift for breath.
[[nodiscard]] Performance perform(const Organ& organ, const Plan& plan, int item, const Score& score,
                                  const PerformanceSettings& settings);

}  // namespace calcant
