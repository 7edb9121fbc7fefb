// A run of the book whose recording is still there: how it was cut up, corrected by hand, measured again.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "jobs/json.hpp"
#include "jobs/measure.hpp"
#include "jobs/run_notes.hpp"

namespace calcant {

struct CutUp {
  Run run;
  StopIndex stop = 0;
  std::vector<Note> keys;  // of the plan, in the order they were played
  Decisions decisions;     // empty where the run was kept by a Calcant that did not write them down
  std::string version;     // changes with the decisions
};
// Refused: a number that is not in the book, a stop this organ no longer has.
[[nodiscard]] Result<CutUp> cut_up(const OrganContext& context, const Book& book, EntryId id);
// Those a person made.
[[nodiscard]] Decisions by_hand(const Decisions& decisions);

// Whether `recording` is there and is the one the run was measured from: a sentence where not.
[[nodiscard]] Result<void> still_there(const Run& run, const std::filesystem::path& recording);
// `recording_here`: as still_there says.
[[nodiscard]] std::string json_text(const OrganContext& context, const CutUp& c, bool recording_here);
[[nodiscard]] Json decision_json(const Decision& d);

struct Correction {
  EntryId run = 0;
  std::filesystem::path recording;
  Decisions by_hand;    // all that is to stand, in place of what stood before; none: as Calcant finds it by itself
  std::string version;  // of the decisions this corrects
};
// What correct_run refuses before it measures. Puts each decision of the correction in its place; gives what it corrects.
[[nodiscard]] Result<CutUp> correctable(const OrganContext& context, const Book& book, Correction& correction);
// Measures the recording again round what was decided by hand, and writes notes and decisions in place of those in the
// book, in one step. Refused, with nothing changed: what cut_up, still_there and measure_stop refuse; decisions made
// elsewhere meanwhile; a key the stop has not or that is decided twice, a stretch without times or that ends before it
// begins.
[[nodiscard]] Result<StopMeasured> correct_run(const OrganContext& context, Correction correction, const Work& work);

}  // namespace calcant
