// What two hands must move between two states, and whether there is time for it.
#pragma once

#include <bitset>
#include <vector>

#include "engine/plan/plan.hpp"
#include "engine/playing/player.hpp"

namespace calcant {

inline constexpr Seconds at_leisure{3600};  // as long as one likes

// How long each has nothing to play.
struct FreeTime {
  Seconds left;
  Seconds right;
  Seconds foot;
};

// Knobs to be moved, by the side they stand on. Knobs over a manual or of unknown place either hand can reach.
struct KnobCount {
  int left = 0;
  int right = 0;
  int either = 0;
  int boxes = 0;
  [[nodiscard]] int all() const { return left + right + either; }
  friend bool operator==(const KnobCount&, const KnobCount&) = default;
};

// Which side every knob of an organ is on, for counting quickly.
class Jambs {
 public:
  explicit Jambs(const Organ& organ);
  using Stops = std::bitset<max_stops>;
  using Couplers = std::bitset<max_couplers>;
  using Accessories = std::bitset<max_accessories>;
  [[nodiscard]] KnobCount moved(const Registration& from, const Registration& to) const;
  // The same, of the knobs in a set only; boxes are not counted.
  [[nodiscard]] KnobCount among(const Stops& stops, const Couplers& couplers,
                                const Accessories& accessories = {}) const;

 private:
  Stops left_stops_, right_stops_;
  Couplers left_couplers_, right_couplers_;
  Accessories left_accessories_, right_accessories_;
  std::size_t boxes_;
};

struct Move {
  Mover mover = Mover::nobody;  // of the knobs
  Seconds needed;               // of the one whose time is tightest
  Seconds available;
  [[nodiscard]] Seconds lacking() const { return needed > available ? needed - available : Seconds{0}; }
};

// Knobs on the left jamb are the left hand's, on the right the right hand's; those over a manual or of unknown place go
// to whichever hand has more time over. A box takes the foot as long as an accessory does.
[[nodiscard]] Move move_for(const KnobCount& knobs, const Player& player, const FreeTime& free);
[[nodiscard]] Move move_for(const Organ& organ, const Registration& from, const Registration& to, const Player& player,
                            const FreeTime& free);

[[nodiscard]] std::vector<BoxSetting> box_moves(const Organ& organ, const Registration& from, const Registration& to);

}  // namespace calcant
