// Standard MIDI files (formats 0, 1 and 2) as a Score.
//
// A MIDI file has no staves, voices or spelling: staves are its tracks and channels, named as the file names them; where no
// name says who plays one it is either_hand and a remark asks. Bars come from the time signatures; notes that cross a
// barline are tied. Source: Standard MIDI Files 1.0 (MIDI Association).
#pragma once

#include <string_view>

#include "engine/quantity/rational.hpp"
#include "engine/quantity/result.hpp"
#include "engine/score/roles.hpp"
#include "engine/score/score.hpp"

namespace calcant {

struct MidiOptions {
  // Beginnings and ends of notes are moved to the nearest multiple, in quarters: 1/48 holds 32nds and their triplets, and
  // mends releases written a little early. 0: ticks are taken as they are. At most 1. What was moved stands in a remark.
  Rational grid{1, 48};
};

// `filename` is only for messages.
[[nodiscard]] Result<Score> read_midi(std::string_view bytes, std::string_view filename,
                                      const RoleOverrides& overrides = {}, const MidiOptions& options = {});

}  // namespace calcant
