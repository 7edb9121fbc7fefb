#include "engine/plan/search.hpp"

#include <algorithm>
#include <limits>
#include <numeric>

namespace calcant {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr std::size_t tries = 8;  // choices of the first stage from which a first path is sought

using Costs = std::vector<std::vector<double>>;

// A good path, so that bounds bite: from each of the cheapest beginnings the cheapest next choice, stage by stage.
double some_path(const Costs& own, const std::function<double(std::size_t, std::size_t, std::size_t)>& step) {
  std::vector<std::size_t> begin(own.front().size());
  std::iota(begin.begin(), begin.end(), std::size_t{0});
  const auto few = static_cast<std::ptrdiff_t>(std::min(tries, begin.size()));
  std::partial_sort(begin.begin(), begin.begin() + few, begin.end(),
                    [&](std::size_t a, std::size_t b) { return own.front()[a] < own.front()[b]; });
  double best = infinity;
  for (std::ptrdiff_t b = 0; b < few; ++b) {
    std::size_t at = begin[static_cast<std::size_t>(b)];
    double cost = own.front()[at];
    for (std::size_t s = 1; s < own.size() && cost < best; ++s) {
      double least = infinity;
      std::size_t next = 0;
      for (std::size_t j = 0; j < own[s].size(); ++j) {
        if (own[s][j] >= least) continue;
        const double c = own[s][j] + step(s, at, j);
        if (c < least) {
          least = c;
          next = j;
        }
      }
      cost += least;
      at = next;
    }
    best = std::min(best, cost);
  }
  return best;
}

}  // namespace

Cheapest cheapest_path(const std::vector<std::size_t>& sizes,
                       const std::function<double(std::size_t, std::size_t)>& own_cost,
                       const std::function<double(std::size_t, std::size_t, std::size_t)>& step) {
  Cheapest out;
  if (sizes.empty()) return out;
  const std::size_t n = sizes.size();
  Costs own(n);
  std::vector<double> least(n, infinity);
  for (std::size_t s = 0; s < n; ++s) {
    for (std::size_t i = 0; i < sizes[s]; ++i) own[s].push_back(own_cost(s, i));
    least[s] = *std::min_element(own[s].begin(), own[s].end());
  }
  const double known = some_path(own, step);
  const double floor = std::accumulate(least.begin(), least.end(), 0.0);
  // A little over, so that rounding never rules out the path that set the bound.
  const double bound = known + 1e-9 * (1 + known);
  double ahead = floor;  // the least the stages from here on can cost

  Costs best(n);
  std::vector<std::vector<std::size_t>> came(n);
  std::vector<std::size_t> order;
  for (std::size_t s = 0; s < n; ++s) {
    best[s].assign(sizes[s], infinity);
    came[s].assign(sizes[s], 0);
    for (std::size_t j = 0; j < sizes[s]; ++j) {
      if (own[s][j] - least[s] + floor > bound) continue;
      double cheapest = s == 0 ? 0 : infinity;
      for (const std::size_t i : order) {
        if (best[s - 1][i] >= cheapest) break;
        ++out.weighed;
        const double cost = best[s - 1][i] + step(s, i, j);
        if (cost < cheapest || (cost == cheapest && i < came[s][j])) {
          cheapest = cost;
          came[s][j] = i;
        }
      }
      best[s][j] = cheapest + own[s][j];
    }
    ahead -= least[s];
    order.clear();
    for (std::size_t i = 0; i < sizes[s]; ++i) {
      if (best[s][i] < infinity && best[s][i] + ahead <= bound) order.push_back(i);
    }
    std::stable_sort(order.begin(), order.end(), [&](auto a, auto b) { return best[s][a] < best[s][b]; });
  }
  out.path.resize(n);
  const auto end = std::min_element(best.back().begin(), best.back().end());
  out.cost = *end;
  out.path.back() = static_cast<std::size_t>(end - best.back().begin());
  for (std::size_t s = n - 1; s > 0; --s) out.path[s - 1] = came[s][out.path[s]];
  return out;
}

}  // namespace calcant
