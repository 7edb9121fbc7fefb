// How large the cue sheet can be set: its words are broken into lines with the widths of a wide book face, so that what is
// said here to fit fits with whatever serif the printer's computer has.
#pragma once

#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/plan/plan.hpp"
#include "files/pages/sheet_items.hpp"

namespace calcant {

// One side in 17 or 14 point while full names fit, then 14 point with names as they are pencilled on one side, then on both,
// then both in 12.5 point, in the end with less of the pieces. Never smaller letters: what is longer still takes more sides.
struct SheetSize {
  double points = 14;
  double line = 1.24;  // from line to line, in ems
  SheetDetail detail = SheetDetail::full;
  int sides = 1;
  bool items_whole = true;  // no item is broken over two sides
};
[[nodiscard]] SheetSize sheet_size(const Organ& organ, const Plan& plan);

// What the sheet's style is written with, in ems of its letters; the room is reckoned with the same.
struct SheetMeasures {
  static constexpr double margin_column = 4.1;
  static constexpr double title = 1.2;  // size of an item's title
  static constexpr double above_item = 0.55;
  static constexpr double above_step = 0.16;
  static constexpr double page_width_mm = 184;
  static constexpr double page_height_mm = 277;
};

}  // namespace calcant
