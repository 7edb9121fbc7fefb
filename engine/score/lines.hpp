// The lines of a hymn or a chorale: where the singers breathe, and nothing is changed in between.
#pragma once

#include <string_view>
#include <vector>

#include "engine/score/score.hpp"

namespace calcant {

// A metre as hymn books print it: "8.6.8.6", "87 87 D", "CM", "C.M.D.", "LM", "SM": syllables of each line, 1 to 30 each,
// at most 24 lines.
[[nodiscard]] Result<std::vector<int>> parse_metre(std::string_view text);

// Whether the score is a hymn by its looks: two staves (or four for four singers), no pedal stave, four parts that mostly
// move together, at most 64 bars.
[[nodiscard]] bool looks_like_hymn(const Score& s);

// Puts a line_end into the directions wherever a line ends, and takes away those found before. In order of trust: pauses,
// else breath marks; the metre given, where those do not make as many lines (counted along the tune: one syllable a note
// or slur, long notes last); double bars and rests of all parts where there are several; the one common metre that
// fits (a guess, and its line ends say so). A pause in the middle of a hymn is a line end, not a hold; in other music only
// where pauses stand in at least three places. Where nothing tells the lines of a hymn a remark says so.
void find_lines(Score& s, const std::vector<int>& metre = {});

// Performed quarters at which lines end, rising; the end of the last line included. Empty where they are not known.
[[nodiscard]] std::vector<Rational> line_ends(const Score& s);

}  // namespace calcant
