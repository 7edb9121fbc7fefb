#include "engine/plan/moves.hpp"

#include <algorithm>
#include <limits>

namespace calcant {

std::vector<BoxSetting> box_moves(const Organ& organ, const Registration& from, const Registration& to) {
  std::vector<BoxSetting> moves;
  for (std::size_t b = 0; b < organ.boxes.size(); ++b) {
    if (from.box[b] != to.box[b]) moves.push_back({static_cast<BoxIndex>(b), to.box[b]});
  }
  return moves;
}

Move move_for(const Organ& organ, const Registration& from, const Registration& to, const Player& player,
              const FreeTime& free) {
  int left = 0;
  int right = 0;
  int either = 0;
  for (const auto& list : {newly_drawn(organ, from, to), newly_drawn(organ, to, from)}) {
    for (const Knob k : list) {
      const Jamb jamb = place(organ, k).jamb;
      (jamb == Jamb::left ? left : jamb == Jamb::right ? right : either) += 1;
    }
  }
  for (int i = 0; i < either; ++i) {
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
  consider(!box_moves(organ, from, to).empty(), player.foot_accessory.value, free.foot);
  return m;
}

std::vector<std::size_t> cheapest_path(const std::vector<std::size_t>& sizes,
                                       const std::function<double(std::size_t, std::size_t)>& own,
                                       const std::function<double(std::size_t, std::size_t, std::size_t)>& step) {
  std::vector<std::vector<double>> best(sizes.size());
  std::vector<std::vector<std::size_t>> came(sizes.size());
  for (std::size_t s = 0; s < sizes.size(); ++s) {
    best[s].assign(sizes[s], s == 0 ? 0.0 : std::numeric_limits<double>::infinity());
    came[s].assign(sizes[s], 0);
    // No step costs less than nothing: once the cheapest way so far is not dearer than a beginning, no later one can win.
    std::vector<std::size_t> order(s > 0 ? sizes[s - 1] : 0);
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    if (s > 0)
      std::stable_sort(order.begin(), order.end(), [&](auto a, auto b) { return best[s - 1][a] < best[s - 1][b]; });
    for (std::size_t j = 0; j < sizes[s]; ++j) {
      for (const std::size_t i : order) {
        if (best[s - 1][i] >= best[s][j]) break;
        const double cost = best[s - 1][i] + step(s, i, j);
        if (cost < best[s][j]) {
          best[s][j] = cost;
          came[s][j] = i;
        }
      }
      best[s][j] += own(s, j);
    }
  }
  std::vector<std::size_t> path(sizes.size());
  if (sizes.empty()) return path;
  path.back() =
      static_cast<std::size_t>(std::min_element(best.back().begin(), best.back().end()) - best.back().begin());
  for (std::size_t s = sizes.size() - 1; s > 0; --s) path[s - 1] = came[s][path[s]];
  return path;
}

}  // namespace calcant
