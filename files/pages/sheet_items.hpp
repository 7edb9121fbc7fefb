// What stands on the cue sheet, item by item and step by step, before it is set: the same words are measured for the room
// they take and printed.
#pragma once

#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/plan/plan.hpp"

namespace calcant {

// A run of words that breaks only behind a comma or semicolon.
struct SheetPhrase {
  enum class Look { plain, fresh, change, when, word, dynamic, helper, place };
  Look look = Look::plain;
  std::string text;
  std::string lead;        // a division's name before its first stop
  bool ends_group = true;  // a wider gap behind it
};

// One verse, half verse or stretch of bars: what is done, and what is then drawn.
struct SheetStep {
  std::string label;  // "v3", "v2\u20133", "Gloria", "b 17": for the margin; empty
  std::vector<SheetPhrase> change;
  std::vector<SheetPhrase> state;  // empty where the knobs stay and room is short
};

struct SheetItem {
  std::string number;
  std::string title;
  std::string about;               // "G major, 8.6.8.6, 4 verses"
  std::vector<std::string> notes;  // "Give the note: G.", "Play-over: first line and last line."
  std::vector<SheetStep> steps;
};

// full: whole names, and every verse's state. brief: names as they are pencilled, and the state only where a knob moves.
// least: of a piece its state at the beginning only and what knobs are moved; its box is marked in its copy.
enum class SheetDetail { full, brief, least };
[[nodiscard]] std::vector<SheetItem> sheet_items(const Organ& organ, const Plan& plan, SheetDetail detail);

}  // namespace calcant
