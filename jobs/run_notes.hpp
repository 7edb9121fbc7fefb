// Notes of a measuring as the book keeps them, and back.
#pragma once

#include "book/book.hpp"
#include "engine/measuring/measure.hpp"
#include "jobs/context.hpp"

namespace calcant {

// The pipes a stop sounds at a key, lowest first.
[[nodiscard]] std::vector<PipeId> pipes_at(const Organ& organ, const Stop& stop, int key);

// Levels against the run's median. A borrowed note is credited to the rank that lends it; a mixture's key has no one pipe.
[[nodiscard]] std::vector<RunNote> run_notes(const Organ& organ, const Stop& stop, const MeasuredRun& run);
// What findings are made from; what the book does not keep (time course, A-weighted level) is not there.
[[nodiscard]] MeasuredNote measured_note(const RunNote& n, int place);

// False where a quarter of the keys gave no sound: then part of the stop was left out of the recording, and silence says
// nothing of the pipes.
[[nodiscard]] bool played_through(const std::vector<RunNote>& notes);

// A run of the book with its notes and what they show.
struct KeptRun {
  Run run;
  StopIndex stop = 0;
  std::vector<RunNote> kept;
  std::vector<MeasuredNote> notes;
  std::vector<Finding> findings;
};
// Refused: a number that is not in the book, a stop this organ no longer has.
[[nodiscard]] Result<KeptRun> kept_run(const OrganContext& context, const Book& book, EntryId id);
// The newest run of each stop up to a date (empty: ever), in the order of the specification. Runs of stops this organ no
// longer has are left out and told in `orphans`.
[[nodiscard]] Result<std::vector<KeptRun>> newest_runs(const OrganContext& context, const Book& book,
                                                       std::string_view on, std::vector<std::string>& orphans);

}  // namespace calcant
