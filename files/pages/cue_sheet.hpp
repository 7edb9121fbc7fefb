// The cue sheet: what is carried to the console. One printable A4 side in 14 or 17 point where that is enough, readable
// under a desk lamp, the reasons on its back; a whole service on both sides of one sheet (sheet_room.hpp).
//
// For every verse (or stretch of bars) the complete state by division in jamb order, what changes in bold with its hand;
// moments as verse and line, in pieces as bar; box and feet; at the foot the date, the faults allowed for, and whether it
// was heard here. Black on white, no colour needed. An invented organ says so on both sides.
#pragma once

#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/plan/plan.hpp"
#include "files/pages/sheet_room.hpp"

namespace calcant {

struct CueSheet {
  std::string heading;               // "First Sunday in Advent"; empty: the one item's, the day or the organ's
  std::string date;                  // "2026-11-29", or as it is to be read; empty: none
  std::vector<std::string> faults;   // "Pedal Bourdon 16, F#2 does not speak"
  std::string heard;                 // "agreed with your ear in 8 of 10 (2026-11-20)"; empty: "not yet heard here"
  std::vector<std::string> remarks;  // for the back, whole sentences
};

// A self-contained page (HTML with its own style for screen and print).
[[nodiscard]] std::string cue_sheet_html(const Organ& organ, const Plan& plan, const CueSheet& sheet);
// The reasons as a page of their own, where the sheet has no side left for them.
[[nodiscard]] std::string reasons_html(const Organ& organ, const Plan& plan, const CueSheet& sheet);

// The same as plain text, for the terminal.
[[nodiscard]] std::string cue_sheet_text(const Organ& organ, const Plan& plan);

}  // namespace calcant
