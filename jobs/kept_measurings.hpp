// What the book knows of earlier measurings: the list, two set against each other, the printed page.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/care/comparison.hpp"
#include "engine/measuring/shared_findings.hpp"
#include "jobs/context.hpp"
#include "jobs/run_notes.hpp"

namespace calcant {

// How a rank was learnt to move with the temperature, from all its measurings since it was last seen to.
struct RankWarmth {
  std::string rank;  // id
  std::string name;
  Warmth warmth;
};
struct MeasuringsCompared {
  KeptRun before;
  KeptRun after;
  Comparison comparison;
  std::vector<RankWarmth> learnt;
};
// Refused: different stops, a missing temperature, fewer than three keys in common.
[[nodiscard]] Result<MeasuringsCompared> compare_runs(const OrganContext& context, EntryId before, EntryId after);
[[nodiscard]] std::string json_text(const OrganContext& context, const MeasuringsCompared& c);

struct MeasuringsOnPage {
  std::vector<KeptRun> runs;
  std::vector<SharedFinding> shared;
  std::string html;
};
// `runs` empty: the newest of each stop up to `on` (empty: ever). Refused where there is none.
[[nodiscard]] Result<MeasuringsOnPage> page_of_runs(const OrganContext& context, const std::vector<EntryId>& runs,
                                                    std::string_view on);
[[nodiscard]] std::string json_text(const OrganContext& context, const MeasuringsOnPage& p);

[[nodiscard]] std::string runs_json(const OrganContext& context, const std::vector<Run>& runs);

}  // namespace calcant
