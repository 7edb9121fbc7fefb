// What two hands must move between two states, whether there is time for it, and the cheapest way through many states.
#pragma once

#include <functional>
#include <vector>

#include "engine/plan/plan.hpp"
#include "engine/playing/player.hpp"

namespace calcant {

// How long each has nothing to play.
struct FreeTime {
  Seconds left;
  Seconds right;
  Seconds foot;
};

struct Move {
  Mover mover = Mover::nobody;  // of the knobs
  Seconds needed;               // of the one whose time is tightest
  Seconds available;
  [[nodiscard]] Seconds lacking() const { return needed > available ? needed - available : Seconds{0}; }
};

// Knobs on the left jamb are the left hand's, on the right the right hand's; those over a manual or of unknown place go
// to whichever hand has more time over. A box takes the foot as long as an accessory does.
[[nodiscard]] Move move_for(const Organ& organ, const Registration& from, const Registration& to, const Player& player,
                            const FreeTime& free);

[[nodiscard]] std::vector<BoxSetting> box_moves(const Organ& organ, const Registration& from, const Registration& to);

// Stage s has sizes[s] states (at least one each); own(s, i) is what state i costs by itself, step(s, i, j) what going
// from state i of stage s - 1 to state j of stage s costs. The states of a cheapest path, one a stage; no cost
// is negative.
[[nodiscard]] std::vector<std::size_t> cheapest_path(
    const std::vector<std::size_t>& sizes, const std::function<double(std::size_t, std::size_t)>& own,
    const std::function<double(std::size_t, std::size_t, std::size_t)>& step);

}  // namespace calcant
