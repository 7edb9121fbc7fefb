// What the pedals owe the hands they carry: R15 to R17 of docs/reference/rules.md.
#pragma once

#include <bitset>
#include <optional>
#include <vector>

#include "engine/organ/knob.hpp"
#include "engine/organ/organ.hpp"
#include "engine/plan/plan.hpp"
#include "engine/plan/vocabulary.hpp"

namespace calcant {

// How loud feet and hands are, mean over the chords.
struct PedalLevels {
  Phons hands;    // of the accompaniment, where the hands are apart
  Phons feet;     // with the pedal's couplers
  Phons own;      // of the pedal's own stops, as if uncoupled; 0 where none is drawn
  Phons sixteen;  // of its own 16 ft flues alone
};

class PedalFit {
 public:
  // left_is_lower: which hand has the lowest notes (lower_hand.hpp).
  PedalFit(const Organ& organ, KeyboardIndex pedals, const std::vector<Knob>& never, Placing placing,
           bool left_is_lower = true);

  // What practice has against a pedal under these hands, 0 nothing (docs/design/plan.md).
  [[nodiscard]] double against(const Registration& drawn, const HandsAndFeet& on, const PedalLevels& levels) const;
  // Of that, against a coupler from where the hands are not, where all such couplers are in `asked`; else 0.
  [[nodiscard]] double against_asked(const Registration& drawn, const HandsAndFeet& on,
                                     const std::bitset<max_couplers>& asked) const;
  // The pedal's own coupler from the manual whose bass it has: the lower hand's.
  [[nodiscard]] std::optional<CouplerIndex> follows(const HandsAndFeet& on) const;

 private:
  [[nodiscard]] double completeness(const Registration& drawn) const;
  // Whether a coupler brings what is neither under the lower hand nor coupled on to it.
  [[nodiscard]] bool of_another(const Registration& drawn, const HandsAndFeet& on) const;
  [[nodiscard]] double coupling(const Registration& drawn, const HandsAndFeet& on) const;
  [[nodiscard]] DivisionIndex home(KeyboardIndex k) const {
    return organ_->keyboards[static_cast<std::size_t>(k)].division;
  }
  const Organ* organ_;
  KeyboardIndex pedals_;
  std::vector<Knob> never_;
  Placing placing_;
  bool left_is_lower_;
  bool has_sixteen_ = false;
  bool has_eight_ = false;
};

}  // namespace calcant
