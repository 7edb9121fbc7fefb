#include "engine/plan/tones.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <numeric>

namespace calcant {
namespace {

constexpr double near_level = 2;  // phon

// How many of a set stand at each rank, and which stands at a place in it: a tree of sums.
class Ranks {
 public:
  explicit Ranks(std::size_t n) : sums_(n + 1) {}
  void insert(std::size_t rank) { add(rank, 1); }
  void erase(std::size_t rank) { add(rank, ~std::size_t{0}); }
  // The rank of the one at this place, from 0.
  [[nodiscard]] std::size_t at(std::size_t place) const {
    const std::size_t n = sums_.size() - 1;
    std::size_t rank = 0;
    for (std::size_t step = std::bit_floor(n); step > 0; step /= 2) {
      if (rank + step <= n && sums_[rank + step] <= place) place -= sums_[rank += step];
    }
    return rank;
  }

 private:
  void add(std::size_t rank, std::size_t by) {
    for (std::size_t i = rank + 1; i < sums_.size(); i += i & (~i + 1)) sums_[i] += by;
  }
  std::vector<std::size_t> sums_;
};

std::vector<std::size_t> sorted_by(const std::vector<double>& values) {
  std::vector<std::size_t> order(values.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return values[a] < values[b]; });
  return order;
}

}  // namespace

void set_tones(std::vector<Shade>& shades) {
  const std::size_t n = shades.size();
  std::vector<double> level;
  std::vector<double> bright;
  for (const Shade& s : shades) {
    level.push_back(s.loudness.value());
    bright.push_back(s.brightness.value());
  }
  const auto by_level = sorted_by(level);
  const auto by_brightness = sorted_by(bright);
  std::vector<std::size_t> rank(n);
  for (std::size_t r = 0; r < n; ++r) rank[by_brightness[r]] = r;
  Ranks near(n);
  std::size_t from = 0;
  std::size_t to = 0;
  for (const std::size_t i : by_level) {
    for (; to < n && level[by_level[to]] - level[i] <= near_level; ++to) near.insert(rank[by_level[to]]);
    for (; level[i] - level[by_level[from]] > near_level; ++from) near.erase(rank[by_level[from]]);
    const double middle = bright[by_brightness[near.at((to - from) / 2)]];
    shades[i].tone = middle > 0 && bright[i] > 0 ? std::log(bright[i] / middle) : 0;
  }
}

}  // namespace calcant
