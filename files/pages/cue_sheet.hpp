// The cue sheet: what is carried to the console. One printable A4 side in 14 point and larger where that is enough,
// readable under a desk lamp, the reasons on its back; a whole service on both sides of one sheet in 12.5 point.
//
// For every verse (or stretch of bars) the complete state by division in jamb order, what changes in bold with its hand;
// moments as verse and line, in pieces as bar; box and feet; at the foot the date, the faults allowed for, and whether it
// was heard here. Black on white, no colour needed. An invented organ says so on both sides.
#pragma once

#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/plan/plan.hpp"

namespace calcant {

struct CueSheet {
  std::string heading;               // "First Sunday in Advent"; empty: the organ's name
  std::string date;                  // as it is to be read; empty: none was given
  std::vector<std::string> faults;   // "Pedal Bourdon 16, F#2 does not speak"
  std::string heard;                 // "agreed with your ear in 8 of 10 (2026-11-20)"; empty: "not yet heard here"
  std::vector<std::string> remarks;  // for the back, whole sentences
};

// How much room the sheet takes: full names while they fit on one side, then abbreviations as they are pencilled, then a
// both sides of the sheet in 12.5 point, and the reasons on a sheet of their own. Never smaller letters: what is longer
// still takes more sheets.
enum class Density { full, abbreviated, both_sides, overflowing };
[[nodiscard]] Density density(const Organ& organ, const Plan& plan);

// A self-contained page (HTML with its own style for screen and print).
[[nodiscard]] std::string cue_sheet_html(const Organ& organ, const Plan& plan, const CueSheet& sheet);
// The reasons as a page of their own, where the sheet has no side left for them (both_sides, overflowing).
[[nodiscard]] std::string reasons_html(const Organ& organ, const Plan& plan, const CueSheet& sheet);

// The same as plain text, for the terminal.
[[nodiscard]] std::string cue_sheet_text(const Organ& organ, const Plan& plan);

}  // namespace calcant
