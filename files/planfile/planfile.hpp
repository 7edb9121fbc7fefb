// plan.json: a plan as one self-contained file, that refers to the organ by its ids and says which organ, which day and
// which score it was made for.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/plan/plan.hpp"
#include "engine/quantity/result.hpp"

namespace calcant {

// The version this program writes and reads; a newer one is refused with a sentence.
inline constexpr int plan_file_version = 1;
inline constexpr std::size_t plan_file_limit = std::size_t{8} << 20;

// What a stave of the score is played on.
struct PlannedStave {
  int number = 1;  // from the top, 1 up
  std::string name;
  std::string role;  // "right hand", with its reason beside it
  std::string reason;
  std::string keyboard;  // id; empty where it is not played
};

struct PlanFile {
  Plan plan;
  std::string organ_id;
  std::string organ_name;
  bool invented = false;
  std::string organ_hash;  // SHA-256 of the organ's files
  std::string day;         // ISO date of the overlay; may be empty
  std::string day_origin;
  std::string overlay_hash;  // of the day laid over; empty where nothing was
  std::string score_name;    // empty: planned without a score
  std::string score_hash;
  std::vector<PlannedStave> staves;
  std::vector<std::string> faults;  // dead notes and stops out of use that were allowed for
};

[[nodiscard]] std::string write_plan(const Organ& organ, const PlanFile& file);
// Ids this organ does not have are an error that names them: the plan is for another organ, or an older state of it.
[[nodiscard]] Result<PlanFile> read_plan(std::string_view text, std::string_view name, const Organ& organ);

}  // namespace calcant
