#include "engine/plan/moves.hpp"

#include <limits>

#include "engine/organ/knob.hpp"

namespace calcant {

Jambs::Jambs(const Organ& organ) : boxes_(organ.boxes.size()) {
  for (std::size_t s = 0; s < organ.stops.size(); ++s) {
    left_stops_.set(s, organ.stops[s].place.jamb == Jamb::left);
    right_stops_.set(s, organ.stops[s].place.jamb == Jamb::right);
  }
  for (std::size_t c = 0; c < organ.couplers.size(); ++c) {
    left_couplers_.set(c, organ.couplers[c].place.jamb == Jamb::left);
    right_couplers_.set(c, organ.couplers[c].place.jamb == Jamb::right);
  }
  for (std::size_t a = 0; a < organ.accessories.size() && a < max_accessories; ++a) {
    left_accessories_.set(a, organ.accessories[a].place.jamb == Jamb::left);
    right_accessories_.set(a, organ.accessories[a].place.jamb == Jamb::right);
  }
}

KnobCount Jambs::among(const Stops& stops, const Couplers& couplers, const Accessories& accessories) const {
  KnobCount n;
  n.left = static_cast<int>((stops & left_stops_).count() + (couplers & left_couplers_).count() +
                            (accessories & left_accessories_).count());
  n.right = static_cast<int>((stops & right_stops_).count() + (couplers & right_couplers_).count() +
                             (accessories & right_accessories_).count());
  n.either = static_cast<int>(stops.count() + couplers.count() + accessories.count()) - n.left - n.right;
  return n;
}

KnobCount Jambs::moved(const Registration& from, const Registration& to) const {
  KnobCount n = among(from.stops ^ to.stops, from.couplers ^ to.couplers, from.accessories ^ to.accessories);
  for (std::size_t b = 0; b < boxes_; ++b) n.boxes += from.box[b] != to.box[b] ? 1 : 0;
  return n;
}

std::vector<BoxSetting> box_moves(const Organ& organ, const Registration& from, const Registration& to) {
  std::vector<BoxSetting> moves;
  for (std::size_t b = 0; b < organ.boxes.size(); ++b) {
    if (from.box[b] != to.box[b]) moves.push_back({static_cast<BoxIndex>(b), to.box[b]});
  }
  return moves;
}

Move move_for(const KnobCount& knobs, const Player& player, const FreeTime& free) {
  int left = knobs.left;
  int right = knobs.right;
  for (int i = 0; i < knobs.either; ++i) {
    const double l = (free.left - seconds_for(player, left + 1)).value();
    const double r = (free.right - seconds_for(player, right + 1)).value();
    (l >= r ? left : right) += 1;
  }
  Move m;
  m.mover = left > 0 && right > 0 ? Mover::both_hands
            : left > 0            ? Mover::left_hand
            : right > 0           ? Mover::right_hand
                                  : Mover::nobody;
  double tightest = std::numeric_limits<double>::infinity();
  const auto consider = [&](bool moves, Seconds needed, Seconds available) {
    const double slack = (available - needed).value();
    if (!moves || slack >= tightest) return;
    tightest = slack;
    m.needed = needed;
    m.available = available;
  };
  consider(left > 0, seconds_for(player, left), free.left);
  consider(right > 0, seconds_for(player, right), free.right);
  consider(knobs.boxes > 0, player.foot_accessory.value, free.foot);
  return m;
}

Move move_for(const Organ& organ, const Registration& from, const Registration& to, const Player& player,
              const FreeTime& free) {
  return move_for(Jambs(organ).moved(from, to), player, free);
}

}  // namespace calcant
