#include "engine/plan/changed_shades.hpp"

namespace calcant {

ChangedShades::ChangedShades(const Organ& organ, Scales& scales, const std::vector<Shade>& shades,
                             const std::vector<Passage>& passages) {
  Registration used;
  for (const Shade& s : shades) {
    used.stops |= s.drawn.stops;
    used.couplers |= s.drawn.couplers;
  }
  for (const Passage& p : passages) {
    if (p.change == nullptr) continue;
    for (const Knob k : p.change->draw) set_drawn(used, k, true);
  }
  Registration forbidden;
  forbidden.stops = ~used.stops;
  forbidden.couplers = ~used.couplers;
  voices_.emplace(organ, scales, none_, pedalboard(organ), forbidden);
}

Shade ChangedShades::shade(const Registration& drawn, const HandsAndFeet& on) {
  Shade s;
  s.drawn = drawn;
  s.on = on;
  QuickScales* heard = voices_->heard(on);
  if (heard == nullptr) return s;
  s.loudness = heard->all(drawn).loudness;
  s.hands = heard->hands(drawn).loudness;
  if (on.feet) s.pedal = heard->feet(drawn).loudness;
  return s;
}

}  // namespace calcant
