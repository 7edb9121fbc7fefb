// The fault side of the organ's book: a fault in one line, the list, closing.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "book/book.hpp"
#include "engine/care/day.hpp"
#include "jobs/context.hpp"

namespace calcant {

// A fault from parts that were chosen one by one (said in a line: fault_line.hpp): division and stop by id; an empty stop
// is the whole division, no key the whole stop. `words` is made where it is empty.
[[nodiscard]] Result<BookFault> fault_of(const Organ& organ, const std::string& division, const std::string& stop,
                                         std::optional<Note> key, FaultKind kind, const std::string& words);
// Sets the fault's key, and the pipe that key of the stop sounds: its own, or the lender's. Refused where it has none.
[[nodiscard]] Result<void> lay_on_pipe(const Organ& organ, StopIndex stop, Note key, BookFault& fault);
// "Pedal: Bourdon 16, F#2: dead"
[[nodiscard]] std::string fault_text(const Organ& organ, const BookFault& f);

// A tuner's visit, with the faults it mended: all of it is written, or nothing.
struct VisitRequest {
  Visit visit;
  std::string stop;             // as people say it; empty: the whole organ
  std::vector<EntryId> closes;  // faults
};
// Refused: a stop this organ has not, a fault that is not open.
[[nodiscard]] Result<EntryId> write_visit(const OrganContext& context, const VisitRequest& request);

// The book of the organ folder, made when it is not there.
[[nodiscard]] Result<Book> open_book(const OrganContext& context);

// The book's visits, as the organ of a day asks for them.
[[nodiscard]] Result<std::vector<StateClosed>> states_closed(const Book& book);

// What the book says of one day, turned into an overlay; nothing where there is no book yet (none is made).
[[nodiscard]] Result<std::optional<Day>> day_from_book(const std::filesystem::path& folder, const Organ& described,
                                                       const DayRequest& request);

[[nodiscard]] std::string faults_json(const OrganContext& context, const std::vector<BookFault>& faults);

}  // namespace calcant
