// After a service, one line an item: too thin, right, too strong, a fault. Kept in the book and used when the item is
// planned again.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "book/book.hpp"
#include "engine/plan/hymn.hpp"
#include "engine/plan/piece.hpp"
#include "jobs/context.hpp"

namespace calcant {

enum class Verdict { too_thin, right, too_strong, fault };
[[nodiscard]] std::string_view word(Verdict v);  // "too thin"

// "St Anne v3: too thin, the Oboe was late", "247: right": item (number, title or both), a verse or none, the verdict, and
// anything more. The error says what would be understood. The date is left empty.
[[nodiscard]] Result<AfterService> parse_after(std::string_view line);

// Whether the line is of something on a board of the folder: a name that is nearly one there, and a verse that is not sung,
// are errors that say what is. Of what stands on no board nothing is known; it is no error, and the sentence says so.
[[nodiscard]] Result<std::string> looked_up(const std::filesystem::path& folder, const AfterService& line);

// What earlier services said of one item.
struct SaidBefore {
  std::string last;  // date; empty: never
  // Phon by which all of it, and single verses (1 up), are to be louder.
  Phons all;
  std::vector<std::pair<int, Phons>> verses;
  // Whole sentences, of the verdicts alone: what else was written may name people, and these stand on sheets.
  std::vector<std::string> remarks;
};
// Each "too thin" makes it, or its verse, 1.5 phon louder than it was planned, each "too strong" softer by as much, 6 phon
// at most either way: a clear shade, and still the hymn it was (ours, no source). A fault changes nothing here: it belongs
// in the book of faults, and the remark says so.
[[nodiscard]] SaidBefore heard_of(const std::vector<AfterService>& lines, std::string_view number,
                                  std::string_view title);
void lay_on(const SaidBefore& heard, Hymn& hymn);

// Everything said so far, oldest first; empty where there is no book (none is made).
[[nodiscard]] Result<std::vector<AfterService>> after_services(const OrganContext& context);
[[nodiscard]] std::string after_json(const OrganContext& context, const std::vector<AfterService>& lines);

}  // namespace calcant
