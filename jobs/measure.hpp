// One stop played through into one recording: what every pipe does, and, when asked, kept in the book.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "book/book.hpp"
#include "engine/measuring/measure.hpp"
#include "engine/quantity/work.hpp"
#include "jobs/context.hpp"
#include "jobs/json.hpp"

namespace calcant {

struct MeasureRequest {
  std::filesystem::path recording;
  std::string stop;                    // "Principal 4", "Swell: Oboe 8"
  bool sides = false;                  // played C side first, then C sharp side; else straight up
  bool close = false;                  // the microphone stood at the mouths
  std::string place;                   // of the microphone, in words
  std::optional<std::string> keep_on;  // date: write it into the book
  // Where the cutting up is written. A file already there is read first: its lines marked "!" stand, the rest is solved
  // again; what it was is kept beside it with ".before" at its end.
  std::optional<std::filesystem::path> decisions;
  Decisions by_hand{};  // what a person decided, where there is no such file
};

struct StopMeasured {
  StopIndex stop = 0;
  Celsius temperature;
  bool temperature_given = false;
  MeasuredRun run;
  std::vector<std::string> remarks;  // of the file
  std::optional<std::int64_t> kept;  // number of the run in the book
  int by_hand = 0;                   // decisions that a person made and that were held to
};

// What a player of `stop` (its id) is asked for, straight up or by sides, each pipe as high as it ought to be at
// `temperature`.
[[nodiscard]] Result<RunPlan> plan_of_stop(const OrganContext& context, const std::string& stop, Celsius temperature,
                                           bool sides = false);

// Refuses an unknown stop, a recording that cannot be read, and what measure_run refuses.
[[nodiscard]] Result<StopMeasured> measure_stop(const OrganContext& context, const MeasureRequest& request,
                                                std::optional<Celsius> temperature, const Work& work);
[[nodiscard]] std::string json_text(const OrganContext& context, const StopMeasured& m);
[[nodiscard]] Json findings_json(const std::vector<Finding>& findings);
// What the book keeps of it beside its notes.
[[nodiscard]] Run run_of(const OrganContext& context, const MeasureRequest& request, const StopMeasured& m);
// Length and beginning of a recording: enough to tell it from another of the same name. Empty where it cannot be read.
[[nodiscard]] std::string fingerprint(const std::filesystem::path& recording);

// What to do at the organ, in sentences to print.
[[nodiscard]] std::string measuring_instructions();

}  // namespace calcant
