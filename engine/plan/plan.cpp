#include "engine/plan/plan.hpp"

namespace calcant {

std::string_view word(Mover m) {
  switch (m) {
    case Mover::left_hand: return "left hand";
    case Mover::right_hand: return "right hand";
    case Mover::both_hands: return "both hands";
    case Mover::foot: return "foot";
    case Mover::helper: return "helper";
    case Mover::nobody: break;
  }
  return "nobody";
}

std::string_view word(ItemKind k) {
  switch (k) {
    case ItemKind::hymn: return "hymn";
    case ItemKind::psalm: return "psalm";
    case ItemKind::piece: break;
  }
  return "piece";
}

Registration after(const Registration& before, const Cue& cue) {
  Registration r = before;
  for (const Knob k : cue.draw) set_drawn(r, k, true);
  for (const Knob k : cue.put_in) set_drawn(r, k, false);
  for (const BoxSetting b : cue.boxes) r.box[static_cast<std::size_t>(b.box)] = b.opening;
  return r;
}

Registration Plan::state(int item, int section) const {
  Registration r = initial;
  for (const Cue& c : cues) {
    if (c.item > item || (c.item == item && c.section > section)) break;
    r = after(r, c);
  }
  return r;
}

}  // namespace calcant
