#include "engine/plan/search.hpp"

#include <algorithm>
#include <limits>
#include <map>
#include <numeric>

namespace calcant {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr std::size_t few = 64;  // the cheapest choices of each stage, among which a first path is sought

using Costs = std::vector<std::vector<double>>;     // by stage and choice
using Few = std::vector<std::vector<std::size_t>>;  // by stage: choices, rising

// The cheapest way through some of the choices.
class Search {
 public:
  // known: what a path through these choices costs at most.
  Search(const Stages& c, const Costs& own, const Few& among, double known)
      : c_(c), own_(own), n_(c.sizes.size()), least_(n_, infinity), kinds_(n_) {
    for (std::size_t s = 0; s < n_; ++s) {
      for (const std::size_t i : among[s]) {
        least_[s] = std::min(least_[s], own_[s][i]);
        const std::size_t k = c.kind(s, i);
        if (k >= kinds_[s].size()) kinds_[s].resize(k + 1);
        kinds_[s][k].push_back(i);
      }
    }
    // A little over, so that rounding never rules out the path that set the bound.
    bound_ = known + 1e-9 * (1 + known);
    ahead_ = std::accumulate(least_.begin(), least_.end(), 0.0) - least_.front();
    best_.assign(c.sizes.front(), infinity);
    for (const std::size_t i : among.front()) best_[i] = own_.front()[i];
    came_.assign(n_, {});
  }

  Cheapest run() {
    for (std::size_t s = 1; s < n_; ++s) advance(s);
    return answer();
  }

 private:
  // Kinds of a stage that may still be on a cheapest path, by the least any of them has cost.
  struct Source {
    double least = infinity;
    std::size_t kind = 0;
    std::vector<std::size_t> members;
  };
  [[nodiscard]] std::vector<Source> sources(std::size_t s) const {
    std::vector<Source> out;
    for (std::size_t k = 0; k < kinds_[s].size(); ++k) {
      Source source;
      source.kind = k;
      for (const std::size_t i : kinds_[s][k]) {
        if (best_[i] == infinity || best_[i] + ahead_ > bound_) continue;
        source.members.push_back(i);
        source.least = std::min(source.least, best_[i]);
      }
      if (!source.members.empty()) out.push_back(std::move(source));
    }
    std::stable_sort(out.begin(), out.end(), [](const Source& a, const Source& b) { return a.least < b.least; });
    return out;
  }

  void advance(std::size_t s) {
    const std::vector<Source> from = sources(s - 1);
    ahead_ -= least_[s];
    arrived_.assign(c_.sizes[s], infinity);
    came_[s].assign(c_.sizes[s], 0);
    for (std::size_t b = 0; b < kinds_[s].size() && !from.empty(); ++b) {
      to_.clear();
      for (const std::size_t j : kinds_[s][b]) {
        if (from.front().least + own_[s][j] + ahead_ <= bound_) to_.push_back(j);
      }
      if (!to_.empty()) reach(s, b, from);
    }
    for (std::size_t j = 0; j < c_.sizes[s]; ++j) arrived_[j] += own_[s][j];
    best_.swap(arrived_);
  }

  // The cheapest ways to the choices `to_` of one kind.
  void reach(std::size_t s, std::size_t kind, const std::vector<Source>& from) {
    double worst = infinity;
    const auto try_from = [&](const Source& source) {
      const double enough = worst - source.least;
      const double gap = c_.between(s, source.kind, kind, enough);
      if (gap >= enough) return;  // it may be more than what was said
      for (const std::size_t i : source.members) {
        for (const std::size_t j : to_) {
          if (best_[i] + gap > arrived_[j]) continue;
          ++weighed_;
          const double cost = best_[i] + (gap + c_.step(s, i, j));
          if (cost > arrived_[j] || cost == infinity || (cost == arrived_[j] && i >= came_[s][j])) continue;
          arrived_[j] = cost;
          came_[s][j] = i;
        }
      }
      worst = 0;
      for (const std::size_t j : to_) worst = std::max(worst, arrived_[j]);
    };
    // Staying as one is costs little: first, so that the rest can be left early.
    const auto same = std::find_if(from.begin(), from.end(), [&](const Source& f) { return f.kind == kind; });
    if (same != from.end()) try_from(*same);
    for (const Source& source : from) {
      if (source.least > worst) break;
      if (source.kind != kind) try_from(source);
    }
  }

  [[nodiscard]] Cheapest answer() const {
    Cheapest out;
    out.weighed = weighed_;
    out.path.resize(n_);
    const auto end = std::min_element(best_.begin(), best_.end());
    out.cost = *end;
    out.path.back() = static_cast<std::size_t>(end - best_.begin());
    for (std::size_t s = n_ - 1; s > 0; --s) out.path[s - 1] = came_[s][out.path[s]];
    return out;
  }

  const Stages& c_;
  const Costs& own_;
  std::size_t n_;
  std::vector<double> least_;                                 // own cost, by stage
  std::vector<std::vector<std::vector<std::size_t>>> kinds_;  // by stage and kind: its choices
  double bound_ = infinity;
  double ahead_ = 0;                            // the least the stages from here on can cost
  std::vector<double> best_;                    // of the stage that was reached: the least a choice has cost
  std::vector<double> arrived_;                 // the same of the next, being made
  std::vector<std::size_t> to_;                 // choices of one kind that may still be on a cheapest path
  std::vector<std::vector<std::size_t>> came_;  // by stage: from which choice
  std::size_t weighed_ = 0;
};

// Of every stage the few cheapest, and what is such in another stage of as many choices: there a path may stay as it is.
Few first_tried(const Costs& own) {
  Few out(own.size());
  std::map<std::size_t, std::vector<bool>> tried;  // by size of a stage
  for (const auto& costs : own) {
    auto& marked = tried[costs.size()];
    marked.resize(costs.size());
    std::vector<std::size_t> order(costs.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    const auto n = static_cast<std::ptrdiff_t>(std::min(few, order.size()));
    std::partial_sort(order.begin(), order.begin() + n, order.end(),
                      [&](std::size_t a, std::size_t b) { return costs[a] < costs[b]; });
    for (auto i = order.begin(); i != order.begin() + n; ++i) marked[*i] = true;
  }
  for (std::size_t s = 0; s < own.size(); ++s) {
    for (std::size_t i = 0; i < own[s].size(); ++i) {
      if (tried[own[s].size()][i]) out[s].push_back(i);
    }
  }
  return out;
}

}  // namespace

Cheapest cheapest_path(const Stages& choices) {
  if (choices.sizes.empty()) return {};
  Costs own(choices.sizes.size());
  Few all(choices.sizes.size());
  for (std::size_t s = 0; s < own.size(); ++s) {
    for (std::size_t i = 0; i < choices.sizes[s]; ++i) {
      own[s].push_back(choices.own(s, i));
      all[s].push_back(i);
    }
  }
  // A good path first, so that bounds bite.
  const double known = Search(choices, own, first_tried(own), infinity).run().cost;
  return Search(choices, own, all, known).run();
}

Cheapest cheapest_path(const std::vector<std::size_t>& sizes,
                       const std::function<double(std::size_t, std::size_t)>& own,
                       const std::function<double(std::size_t, std::size_t, std::size_t)>& step) {
  Stages c;
  c.sizes = sizes;
  c.own = own;
  c.kind = [](std::size_t, std::size_t i) { return i; };
  c.between = [](std::size_t, std::size_t, std::size_t, double) { return 0.0; };
  c.step = step;
  return cheapest_path(c);
}

}  // namespace calcant
