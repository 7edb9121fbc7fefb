// player.toml: the player's own spans, way of pedalling and timings. What it leaves out keeps its default.
//
//   version = 1
//   name = "the resident organist"
//   helper = false                 # somebody stands by to draw knobs and turn pages
//   turns_own_pages = true
//   [hands]                        # semitones, lowest to highest key of one hand
//   comfortable = 12               # both hands; left_comfortable, right_comfortable for one
//   most = 14                      # likewise left_most, right_most
//   [feet]
//   style = "legato"               # legato, toes, left-foot-only, simplified
//   heel_on_sharps = false
//   span = 4                       # semitones under one foot
//   [touch]                        # of hymns, when they are made into sound
//   tune = "repeat"                # a note that comes again at once: repeat, tie, or beat (struck on strong beats)
//   inner = "tie"
//   bass = "beat"
//   lift = 0.25                    # crotchets, at the end of a line
//   [seconds]                      # out and back
//   one_knob = { value = 1.3, from = "measured", date = "2026-11-01", basis = "five changes timed" }
//   further_knob = 0.5
//   foot_accessory = 0.8
//   page_turn = 1.5
//
// A plain number is taken as given by the player.
#pragma once

#include <string>
#include <string_view>

#include "engine/playing/player.hpp"
#include "engine/quantity/result.hpp"

namespace calcant {

inline constexpr int player_file_version = 1;
inline constexpr std::size_t player_file_limit = std::size_t{64} << 10;

// Every fault comes back in one Error, each with its place (`player.toml:12:3: ...`); unknown keys are faults and name the
// nearest known one; a newer version is refused.
[[nodiscard]] Result<Player> read_player(std::string_view text, std::string_view name);

}  // namespace calcant
