#include "engine/plan/composition.hpp"

#include <algorithm>

namespace calcant {

std::vector<Composition> compositions(const Organ& organ) {
  std::vector<Composition> out;
  for (std::size_t a = 0; a < organ.accessories.size(); ++a) {
    const Accessory& pedal = organ.accessories[a];
    if (pedal.kind != AccessoryKind::composition || !pedal.by_foot || !pedal.division || pedal.draws.empty()) continue;
    Composition c;
    c.accessory = static_cast<int>(a);
    for (std::size_t s = 0; s < organ.stops.size(); ++s) c.reach.set(s, organ.stops[s].division == *pedal.division);
    bool known = true;
    for (const std::string& id : pedal.draws) {
      const auto s = stop_by_id(organ, id);
      known =
          known && s && c.reach[static_cast<std::size_t>(*s)] && !organ.stops[static_cast<std::size_t>(*s)].out_of_use;
      if (s) c.leaves.set(static_cast<std::size_t>(*s));
    }
    if (known) out.push_back(c);
  }
  return out;
}

}  // namespace calcant
