#include "engine/registration/equals.hpp"

#include <bit>

namespace calcant {
namespace {

// The stops of a cluster that a set of it stands for.
StopMask spread(const std::vector<int>& stops, std::uint32_t set) {
  StopMask out = 0;
  for (std::size_t i = 0; i < stops.size(); ++i) out |= static_cast<StopMask>(set >> i & 1) << stops[i];
  return out;
}

}  // namespace

Equals::Equals(const Space& space, StopMask must, StopMask must_not, std::vector<bool> linkings)
    : space_(&space), must_(must), must_not_(must_not), linkings_(std::move(linkings)) {
  for (const Space::Cluster& c : space.clusters_) {
    StopMask all = 0;
    for (const int s : c.stops) all |= StopMask{1} << s;
    if (((must | must_not) & all) == 0) {
      least_.push_back(c.least);
      continue;
    }
    auto& by_linking = least_.emplace_back();
    for (std::size_t l = 0; l < c.makes.size(); ++l) {
      auto& least = by_linking.emplace_back(c.least[l].size(), Space::Cluster::none);
      if (!linkings_[l]) continue;
      for (std::uint32_t set = 0; set < c.makes[l].size(); ++set) {
        const StopMask drawn = spread(c.stops, set);
        if ((must & all & ~drawn) != 0 || (must_not & drawn) != 0) continue;
        std::uint32_t& to = least[c.makes[l][set]];
        if (to == Space::Cluster::none || std::popcount(set) < std::popcount(to)) to = set;
      }
    }
  }
}

bool Equals::within(const Space::State& s) const {
  return linkings_[s.linking] && (must_ & ~s.stops) == 0 && (must_not_ & s.stops) == 0;
}

std::optional<Space::State> Equals::fewest(const Space::State& s) const {
  const StopMask alone = s.stops & space_->alone_;
  if ((alone & must_not_) != 0 || (must_ & space_->alone_ & ~alone) != 0) return std::nullopt;
  std::optional<Space::State> out;
  int fewest_knobs = 0;
  for (std::size_t l = 0; l < linkings_.size(); ++l) {
    if (!linkings_[l] || (alone & ~space_->same_[s.linking][l]) != 0) continue;
    Space::State made{l, alone};
    bool all = true;
    for (std::size_t c = 0; c < least_.size() && all; ++c) {
      const Space::Cluster& cluster = space_->clusters_[c];
      const std::uint32_t set = least_[c][l][cluster.makes[s.linking][cluster.gather(s.stops)]];
      all = set != Space::Cluster::none;
      if (all) made.stops |= spread(cluster.stops, set);
    }
    const int knobs = space_->linkings()[l].knobs + std::popcount(made.stops);
    if (!all || (out && knobs >= fewest_knobs)) continue;
    out = made;
    fewest_knobs = knobs;
  }
  return out;
}

std::optional<Space::State> Equals::of(const Space::State& canonical) const {
  return within(canonical) ? canonical : fewest(canonical);
}

bool Equals::stands(const Space::State& state) const {
  return within(state) && (state.stops & ~space_->linkings()[state.linking].sounding) == 0 && fewest(state) == state;
}

}  // namespace calcant
