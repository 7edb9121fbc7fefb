// What the stops of a division are for, and the ways of drawing them that an organist would think of.
//
// Built by rules of practice (docs/reference/rules.md): hard here is only what published practice is plainly against (R3,
// R8, R9); everything else costs something and is weighed in the search (docs/design/plan.md).
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/organ/knob.hpp"
#include "engine/organ/organ.hpp"

namespace calcant {

// A stop's part in the chorus of its division. `other` is never drawn by a plan of its own accord.
enum class ChorusPart {
  sixteen,
  flute8,
  string8,
  principal8,
  reed8,
  flute4,
  principal4,
  twelfth,
  two,
  mixture,
  big_reed,  // 16 and 4 ft
  other
};
[[nodiscard]] ChorusPart chorus_part(const Stop& s);

// One way of drawing a division.
struct Voicing {
  std::vector<StopIndex> stops;  // rising
  double against = 0;            // what practice has against it, 0 nothing (docs/design/plan.md)
  std::string what;              // its stops, for people
};

// "Open Diapason, Principal and Oboe"; with their pitch where two are called the same.
[[nodiscard]] std::string voicing_words(const Organ& organ, const std::vector<StopIndex>& stops);

// Every way of drawing a manual division that practice knows, without the stops in `never`, those out of use, and
// celestes: from one soft stop to everything. Of several stops of one kind, either one of them or the first few together.
// At most some hundred thousand; empty where nothing plays.
[[nodiscard]] std::vector<Voicing> voicings(const Organ& organ, DivisionIndex division, const std::vector<Knob>& never);

// What practice has against a manual division drawn so; nothing: practice is plainly against it.
[[nodiscard]] std::optional<double> against_drawing(const Organ& organ, DivisionIndex division,
                                                    const std::vector<StopIndex>& stops);

// Whether a mixture and a reed are drawn: what crowns a chorus, however little louder it is.
[[nodiscard]] bool crowned(const Organ& organ, const Registration& drawn);

// What practice has against a manual drawn so with another, drawn so, coupled to it, beyond what it has against either: the
// strings of the other on its diapasons (R7), and upperwork there without a chorus here to stand on (R4). The full Swell
// over the Great's diapason is practice's own exception.
[[nodiscard]] double against_coupling(const Organ& organ, const Voicing& own, const Voicing& coupled);

// The same for the pedal: always a 16 ft where there is one, with or without 8 ft, up to everything; and nothing, where a
// coupler alone gives the bass.
[[nodiscard]] std::vector<Voicing> pedal_voicings(const Organ& organ, DivisionIndex division,
                                                  const std::vector<Knob>& never);

// The keyboard hymns are led from: the first manual whose division has an 8 ft principal in use, else the first with an
// 8 ft.
[[nodiscard]] std::optional<KeyboardIndex> leading_manual(const Organ& organ);
[[nodiscard]] std::optional<KeyboardIndex> pedalboard(const Organ& organ);
// The coupler by which a keyboard plays another division at its own pitch.
[[nodiscard]] std::optional<CouplerIndex> unison_coupler(const Organ& organ, KeyboardIndex from, DivisionIndex to,
                                                         const std::vector<Knob>& never);

// Where a box can be left: a lever at its hitches, a balanced pedal shut, half way and open; 1 where there is no box.
[[nodiscard]] std::vector<float> box_rests(const Organ& organ, std::optional<BoxIndex> box);
[[nodiscard]] std::string box_words(std::optional<BoxIndex> box, float opening);  // "box shut"

}  // namespace calcant
