// MusicXML 2.0 to 4.0 as a Score: partwise and timewise, plain (.musicxml, .xml) and packed (.mxl).
//
// Everything is bounded (limits.hpp), nothing outside the bytes is ever read (no entities, no DTD, no links), and time
// is exact. Bars are as long as their content; parts are aligned at each barline. What had to be guessed or left out
// stands in Score::remarks. Source: MusicXML 4.0, W3C Community Group report.
#pragma once

#include <string_view>

#include "engine/quantity/result.hpp"
#include "engine/score/roles.hpp"
#include "engine/score/score.hpp"

namespace calcant {

// `filename` is only for messages ("hymn.mxl:41"). Notes are numbered, staves have their players, repeats are unfolded,
// a hymn's lines are found where marks tell them (find_lines again when its metre is known).
[[nodiscard]] Result<Score> read_musicxml(std::string_view bytes, std::string_view filename,
                                          const RoleOverrides& overrides = {});

}  // namespace calcant
