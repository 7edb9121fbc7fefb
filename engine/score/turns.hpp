// Repeats unfolded: from the signs at each bar to the order in which the bars are played.
#pragma once

#include <string>
#include <vector>

#include "engine/score/score.hpp"

namespace calcant {

// The signs of one bar. Labels tell several signs of a kind apart ("segno 1"); any text will do, empty: no sign.
struct BarSigns {
  bool forward = false;        // a repeat begins at its left
  int backward = 0;            // a repeat ends at its right: how often the section is played in all; 0: no repeat
  std::vector<int> endings;    // it stands under these endings ("1.", "1, 2."); empty: under none
  bool ending_begins = false;  // its ending's bracket begins here
  std::string segno;           // segno stands at its left
  std::string coda;            // the coda begins at its left
  std::string to_coda;         // at its right, second time: go to that coda
  std::string dal_segno;       // at its right: go back to that segno
  bool da_capo = false;        // at its right: go back to the beginning
  bool fine = false;           // at its right, after a da capo or dal segno: the end
};

// Signs of `bars.size()` bars. After a da capo or dal segno repeats are not taken again and the last ending is played,
// as is the custom. A section without a repeat sign at its left begins after the last repeat, or at the beginning.
// At most `limit` bars are played; what more there would be is left out and `cut` set.
[[nodiscard]] std::vector<Turn> unfold(const std::vector<Bar>& bars, const std::vector<BarSigns>& signs, bool* cut,
                                       std::size_t limit = 20000);

}  // namespace calcant
