#include "engine/plan/under_hand.hpp"

#include <algorithm>

namespace calcant {

void under_the_hand(const Organ& organ, std::optional<KeyboardIndex> lead, Shade& s) {
  s.leading = s.on.right == lead;
  const DivisionIndex home = organ.keyboards[static_cast<std::size_t>(*s.on.right)].division;
  // A manual that has a diapason of its own is not led from on another's.
  const bool own_open = std::any_of(organ.stops.begin(), organ.stops.end(), [&](const Stop& stop) {
    return stop.division == home && !stop.out_of_use && chorus_part(stop) == ChorusPart::principal8;
  });
  for (std::size_t i = 0; i < organ.stops.size(); ++i) {
    if (!s.drawn.stops[i]) continue;
    const Stop& stop = organ.stops[i];
    const auto coupler = unison_coupler(organ, *s.on.right, stop.division, {});
    const bool own = stop.division == home;
    if (!own && !(coupler && s.drawn.couplers[static_cast<std::size_t>(*coupler)])) continue;
    const ChorusPart p = chorus_part(stop);
    s.open8 = s.open8 || (p == ChorusPart::principal8 && (own || !own_open));
    s.four = s.four || p == ChorusPart::principal4 || p == ChorusPart::flute4;
    s.two = s.two || p == ChorusPart::two || p == ChorusPart::mixture;
    s.mixture = s.mixture || p == ChorusPart::mixture;
    const bool reed = p == ChorusPart::reed8 || p == ChorusPart::big_reed;
    s.reed = s.reed || reed;
    s.loud_reed = s.loud_reed || (reed && !stop.tremulous_solo);
  }
}

}  // namespace calcant
