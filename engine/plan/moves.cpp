#include "engine/plan/moves.hpp"

#include <cstdint>
#include <limits>

#include "engine/organ/knob.hpp"

namespace calcant {
namespace {

// How many knobs of a set are on the left, on the right, anywhere. One by one: few move at a time, and where the machine
// has no instruction for it std::bitset::count is a call for every word, which was two fifths of a plan's time.
template <std::size_t n>
void count(const std::bitset<n>& set, const std::bitset<n>& left, const std::bitset<n>& right, KnobCount& knobs) {
  if (set.none()) return;
  for (std::size_t i = set._Find_first(); i < n; i = set._Find_next(i)) {
    if (left[i]) ++knobs.left;
    else if (right[i]) ++knobs.right;
    else ++knobs.either;
  }
}

}  // namespace

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
  count(stops, left_stops_, right_stops_, n);
  count(couplers, left_couplers_, right_couplers_, n);
  count(accessories, left_accessories_, right_accessories_, n);
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
