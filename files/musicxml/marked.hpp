// The marked copy: the user's own score with our marks written into it, and taken out again.
//
// Marks are spliced into the text; not a byte of the input is changed otherwise, but that each note without an id gets one
// (so that page and program speak of the same note) and a version before 3.1, which has no ids, becomes 3.1. Everything of
// ours stands between <?calcant begin?> and <?calcant end?>, which other programs pass over; so it can be removed again to
// the last byte. Valid against the MusicXML 4.0 schema where the input is.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/result.hpp"
#include "engine/score/score.hpp"

namespace calcant::musicxml {

// One mark. registration ("add Sw. Oboe"), manual ("Gt.") and words stand at a written place; foot stands at a note.
struct Mark {
  enum class Kind { registration, manual, words, foot };
  Kind kind = Kind::words;
  // For people to read, up to 4000 bytes; may be several lines. A foot mark's own is made from its part (toe a caret, heel a cup) when empty.
  std::string text{};
  // Written place: bar index, quarters from its start, stave (index into Score::staves; -1: the uppermost one played).
  int bar = 0;
  Rational at{};
  int stave = -1;
  bool below = false;  // under the stave instead of above it
  // Foot marks: the note, which foot (right above the stave, left below) and what of it.
  NoteId note = 0;
  WrittenNote::Foot foot = WrittenNote::Foot::none;
  WrittenNote::Part foot_part = WrittenNote::Part::none;
  bool foot_change = false;  // the foot is changed on the held key
};

// `original` is the bytes of any score read_musicxml reads; the result is plain MusicXML in UTF-8. Marks of an earlier run
// are removed first. Notes bear ids "n" and their NoteId, or the ids they had; WrittenNote::file_id of the result tells.
[[nodiscard]] Result<std::string> write_marked(const std::string& original, const std::vector<Mark>& marks);

// The score without our marks: for UTF-8 input exactly the bytes write_marked was given (but for a byte order mark), for
// others their text in UTF-8, which is what it then says it is in.
[[nodiscard]] Result<std::string> remove_marks(const std::string& marked);

}  // namespace calcant::musicxml
