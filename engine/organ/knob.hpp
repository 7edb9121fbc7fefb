// A knob: whatever a hand or a foot draws and puts in.
#pragma once

#include <compare>
#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/organ/registration.hpp"

namespace calcant {

// Something on the jambs, over a manual or under the feet that can be drawn and put in.
struct Knob {
  enum class Kind { stop, coupler, accessory };
  Kind kind = Kind::stop;
  int index = 0;  // into Organ::stops, couplers or accessories
  friend auto operator<=>(const Knob&, const Knob&) = default;
};
[[nodiscard]] std::string full_name(const Organ& organ, Knob k);
[[nodiscard]] const std::string& id(const Organ& organ, Knob k);
[[nodiscard]] KnobPlace place(const Organ& organ, Knob k);
[[nodiscard]] bool is_drawn(const Registration& r, Knob k);
void set_drawn(Registration& r, Knob k, bool drawn);
// Everything drawn, in jamb order: by division as printed, stops, then couplers, then accessories.
[[nodiscard]] std::vector<Knob> knobs(const Organ& organ, const Registration& r);
// Drawn in `to` and not in `from`, in the same order.
[[nodiscard]] std::vector<Knob> newly_drawn(const Organ& organ, const Registration& from, const Registration& to);

}  // namespace calcant
