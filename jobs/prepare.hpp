// The main job: from a hymn, a score or a hymn board to what is carried to the console.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "engine/plan/hymn.hpp"
#include "engine/quantity/work.hpp"
#include "files/planfile/planfile.hpp"
#include "jobs/context.hpp"
#include "jobs/lost_notes.hpp"
#include "jobs/performance.hpp"

namespace calcant {

// What was asked for: exactly one of score, hymn, psalm and service. The rest overrules what these say; a service has its own.
struct PrepareRequest {
  std::optional<std::filesystem::path> score;
  std::optional<std::string> hymn;   // as typed (hymn_words.hpp)
  std::optional<std::string> psalm;  // as typed (psalm_words.hpp)
  std::optional<std::filesystem::path> service;
  std::filesystem::path out;  // folder; made where it is not there

  std::optional<int> verses;
  std::optional<Bass> bass;
  std::optional<double> tempo;     // crotchets a minute
  std::vector<std::string> words;  // "2: soft, no pedal"
  std::optional<std::string> number;
  std::optional<PlayOver> play_over;
  std::optional<int> singers;
  std::vector<std::string> never;   // names of stops and couplers that are not to be drawn
  std::vector<std::string> staves;  // "3=feet", "2=swell": who or which keyboard plays a stave of the score
  bool preview = true;              // sound, where there is a score
  bool every_foot = false;          // every foot mark in the marked copy, not only those that are not obvious
};

struct Prepared {
  PlanFile file;
  struct Written {
    std::filesystem::path path;
    std::string what;  // "cue sheet: print it on both sides"
  };
  std::vector<Written> written;
  std::vector<std::string> remarks;  // what was left out or should be known, whole sentences
  bool one_side = true;              // the cue sheet's front fits on one side
};

// Files are written whole or not at all; those of an earlier run are replaced. An error leaves what was there.
[[nodiscard]] Result<Prepared> prepare(const OrganContext& context, const PrepareRequest& request, const Work& work);
[[nodiscard]] std::string json_text(const OrganContext& context, const Prepared& prepared);

// The plan alone, nothing written (request.out is not looked at), with the score as it is then played: for hearing it.
struct PlannedScore {
  PlanFile file;
  Score score;
  PerformanceSettings settings;
};
[[nodiscard]] Result<PlannedScore> plan_score(const OrganContext& context, const PrepareRequest& request,
                                              const Work& work);

}  // namespace calcant
