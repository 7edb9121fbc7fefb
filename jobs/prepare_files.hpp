// What is carried to the console, written from a plan that is made: cue sheet, reasons, pencilling list, plan.json, marked
// copies and a preview.
#pragma once

#include <string>
#include <vector>

#include "engine/listening/listening.hpp"
#include "engine/playing/feet.hpp"
#include "engine/playing/player.hpp"
#include "jobs/prepare.hpp"
#include "jobs/read_score.hpp"

namespace calcant {

// One item's score, kept for the marked copy and the preview.
struct ScoredItem {
  int item = 0;
  ReadScore read;
  PerformanceSettings settings;
  std::vector<FixedFoot> marks;  // of the user's
};

struct PlannedItems {
  const OrganContext& context;
  const PrepareRequest& request;
  const Player& player;
  const Listening& listening;
  const Plan& plan;
  const std::vector<ScoredItem>& scores;
  const std::string& heading;
  const std::string& date;
  const std::vector<std::string>& heard;  // by item: when it was last spoken of; empty: never
};
// Into the request's folder. `out.file` is what plan.json says; what is written and should be known is added to `out`.
[[nodiscard]] Result<void> write_files(const PlannedItems& planned, Prepared& out, const Work& work);

}  // namespace calcant
