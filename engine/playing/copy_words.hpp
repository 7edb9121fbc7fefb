// What the printed copy says of stops, couplers and box, beside the manuals it names (manuals.hpp), and whether this organ has it.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/playing/copy_stops.hpp"
#include "engine/score/score.hpp"

namespace calcant {

// "Sw. to Gt." draws the coupler by which the Great's keys play the Swell; "Gt. to Ped. off" puts one in. "Sw. box closed",
// "box open". "Full Swell", "Gt. to Fifteenth": how much of a division is drawn. "Sw. Oboe, Flute 4", "Gt. 8 & 4 ft": what it is
// drawn with, and nothing else. "add Reeds", "Mixtures off". What reads like registration and can be read in more than one
// way, or in none, is told as that: "Ch./Sw.".
enum class CopyKind { coupler_on, coupler_off, box, level, stops, add, put_in, unclear };

struct CopyWord {
  CopyKind kind = CopyKind::unclear;
  Moment moment;
  int stave = -1;                         // -1: the whole score
  std::string text;                       // as printed
  std::string wanted;                     // in words: "Swell to Great drawn", "the Swell box shut"
  std::optional<CouplerIndex> coupler;    // of this organ
  std::optional<int> box;                 // index into Organ::boxes
  std::optional<double> open;             // of a box: 0 shut, 1 open
  std::optional<DivisionIndex> division;  // that is meant, where this organ has it
  std::vector<CopyStop> stops;            // of level, stops, add and put_in
  bool here = false;                      // this organ has what is wanted, or something of its kind
};

// By written place, the order of the words within one text kept. English usage, with the abbreviations of English and
// American editions.
[[nodiscard]] std::vector<CopyWord> copy_words(const Score& score, const Organ& organ);
// A sentence without the place: "Gt. to Ped." wants Great to Pedal drawn: this organ has it.
[[nodiscard]] std::string words(const Organ& organ, const CopyWord& w);

}  // namespace calcant
