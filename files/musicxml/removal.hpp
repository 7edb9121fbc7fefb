// What marked copies have of ours, and its removal.
//
// Marks stand between two instructions, <?calcant begin?> and <?calcant end?>, within one element; the record stands straight
// behind the root's start tag and says which notes got an id and which version the score had.
#pragma once

#include <string>
#include <string_view>

namespace calcant::musicxml {

struct Record {
  std::string prefix;   // of the ids notes were given, a number behind it
  std::string version;  // what the score called itself; "none": nothing; empty: it was not changed
};
inline constexpr std::string_view marked_version = "3.1";  // the first that has ids

[[nodiscard]] std::string written_record(const Record& r);
// `inner` between our instructions.
[[nodiscard]] std::string ours(std::string_view inner);

// The text without anything of ours: marks, single instructions that another program left of them (what stands beside
// those is the score's), records with the ids and the version they tell. Goes by the document, so that what only looks
// like an instruction, in an attribute or a comment, stays; text that is no well-formed document is given back as it is.
[[nodiscard]] std::string without_marks(const std::string& text);

}  // namespace calcant::musicxml
