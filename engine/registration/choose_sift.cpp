// The registrations that the screen takes to be the best for a wish: out of the map, or by search where there is none.
#include <algorithm>
#include <array>
#include <atomic>
#include <bit>
#include <cmath>
#include <limits>
#include <thread>

#include "engine/registration/choose_parts.hpp"
#include "engine/registration/equals.hpp"

namespace calcant {
namespace {

constexpr double screen_phons = 0.35;  // the screen may be off by this much of a level
// Of more than this the map is gone through again for every answer after the first (12 MB).
constexpr std::size_t most_remembered = std::size_t{1} << 18;

// What a state shares with answers already taken, in bit operations: overlap() of choose_parts.hpp.
class Shared {
 public:
  Shared(const Space& space, const std::vector<Space::State>& taken) {
    for (const Space::State& t : taken) {
      One one{t.stops, std::popcount(t.stops) + space.linkings()[t.linking].knobs, {}, {}, {}};
      const auto& mine = space.linkings()[t.linking].couplers.couplers;
      for (const Linking& l : space.linkings()) {
        one.both.push_back(static_cast<int>((mine & l.couplers.couplers).count()));
        one.either.push_back(static_cast<int>((mine | l.couplers.couplers).count()));
        one.theirs.push_back(l.knobs);
      }
      taken_.push_back(std::move(one));
    }
  }
  [[nodiscard]] bool too_much(std::size_t linking, StopMask stops) const {
    return std::any_of(taken_.begin(), taken_.end(), [&](const One& t) {
      const int both = t.both[linking] + std::popcount(stops & t.stops);
      const int either = t.either[linking] + std::popcount(stops | t.stops);
      return both == std::min(t.knobs, t.theirs[linking] + std::popcount(stops)) || both > apart * either;
    });
  }

 private:
  struct One {
    StopMask stops;
    int knobs;
    std::vector<int> both;    // couplers, by linking
    std::vector<int> either;  // likewise
    std::vector<int> theirs;  // likewise
  };
  std::vector<One> taken_;
};

}  // namespace

std::vector<Space::State> Chooser::states_of(const std::vector<Taken>& taken, const Ground& ground) {
  std::vector<Space::State> out;
  for (const Taken& t : taken) {
    if (t.ground == &ground) out.push_back({t.candidate.linking, t.candidate.stops});
  }
  return out;
}

std::size_t brightness_bin(double acums) {
  return std::min<std::size_t>(static_cast<std::size_t>(std::max(0.0, acums) * 50), brightness_bins - 1);
}

void Chooser::sift_map(std::size_t g, const Wish& wish, const std::vector<Taken>& taken, std::size_t keep,
                       Allowed& allowed, Sifted& into, const Work& work) {
  const Ground& ground = *grounds_[g];
  const Map& map = *ground.map;
  const auto limits = ground.limits(wish);
  if (!limits.possible) return;
  const Shared shared{ground.space, states_of(taken, ground)};
  const Equals equals{ground.space, limits.must, limits.must_not, limits.linkings};
  into.considered += static_cast<double>(map.size());
  const bool remembered = !allowed.by_block.empty();
  std::vector<std::vector<Candidate>> found(map.blocks());
  std::vector<std::vector<Candidate>> every(map.blocks());
  std::vector<std::array<double, brightness_bins>> acums(remembered ? 0 : map.blocks());
  std::atomic<std::size_t> next{0};
  std::atomic<std::size_t> remember{0};
  std::atomic<bool> all{true};
  const auto sift = [&] {
    for (std::size_t b = next.fetch_add(1); b < found.size(); b = next.fetch_add(1)) {
      if (work.stop.stop_requested()) return;
      std::vector<Candidate>& mine = found[b];
      double worst = std::numeric_limits<double>::infinity();
      const auto settle = [&] {
        if (mine.size() <= keep) return;
        std::nth_element(mine.begin(), mine.begin() + static_cast<std::ptrdiff_t>(keep), mine.end());
        mine.resize(keep);
        worst = std::max_element(mine.begin(), mine.end())->points;
        all = false;
      };
      const auto consider = [&](const Candidate& c) {
        if (c.points > worst) {
          all = false;
          return;
        }
        if (shared.too_much(c.linking, c.stops) || !worth_knowing(wish, taken, ground, c.linking, c.stops)) return;
        mine.push_back(c);
        if (mine.size() >= 4 * keep) settle();
      };
      if (remembered) {
        for (const Candidate& c : allowed.by_block[b]) consider(c);
        settle();
        continue;
      }
      map.for_block(b, [&](const MapState& m) {
        if (std::abs(m.figures.phons - wish.level.value()) > wish.band + screen_phons) return;
        const auto s = equals.of({m.linking, m.stops});
        if (!s || !Ground::carries(limits, s->linking, s->stops) ||
            !ground.practice.allows(s->linking, s->stops, wish.manner))
          return;
        ++acums[b][brightness_bin(m.figures.acums)];
        const int knobs = ground.linking(s->linking).knobs + std::popcount(s->stops);
        const PracticeAgainst against = ground.practice.against(s->linking, s->stops);
        const double sum = points(wish, knobs, against, m.figures.phons, m.figures.acums, ground.played).sum();
        const Candidate c{sum, g, s->linking, s->stops, m.box};
        if (remember.fetch_add(1) < most_remembered) every[b].push_back(c);
        consider(c);
      });
      settle();
    }
  };
  {
    std::vector<std::jthread> helpers;
    for (int t = 1; t < work.threads; ++t) helpers.emplace_back(sift);
    sift();
  }
  into.all = into.all && all;
  for (auto& f : found) into.found.insert(into.found.end(), f.begin(), f.end());
  if (remembered || work.stop.stop_requested()) return;
  if (remember <= most_remembered) allowed.by_block = std::move(every);
  allowed.acums.assign(brightness_bins, 0);
  for (const auto& h : acums) {
    for (std::size_t i = 0; i < h.size(); ++i) allowed.acums[i] += h[i];
  }
}

Result<void> Chooser::sift_search(std::size_t g, const Wish& wish, const std::vector<Taken>& taken, std::size_t keep,
                                  Sifted& into, const Work& work) {
  Ground& ground = *grounds_[g];
  const auto limits = ground.limits(wish);
  if (!limits.possible) return {};
  into.searched = true;
  const Shared shared{ground.space, states_of(taken, ground)};
  const PointsOf fit = [&](const Space::State& s, std::size_t, const MapFigures& f) {
    const double off = std::max(0.0, std::abs(f.phons - wish.level.value()) - wish.band - screen_phons);
    const bool allowed = ground.allows(limits, s.linking, s.stops, wish.manner);
    // Twice, because points go below nothing where a colour is wanted.
    const bool another = !shared.too_much(s.linking, s.stops) && worth_knowing(wish, taken, ground, s.linking, s.stops);
    const double way = (off > 0 ? 2 * unfit + 20 * off : 0) + (allowed ? 0 : 2 * unfit) + (another ? 0 : 2 * unfit) +
                       20 * std::popcount(limits.must & ~s.stops) + 20 * std::popcount(limits.must_not & s.stops);
    const int knobs = ground.linking(s.linking).knobs + std::popcount(s.stops);
    const PracticeAgainst against = ground.practice.against(s.linking, s.stops);
    return points(wish, knobs, against, f.phons, f.acums, ground.played).sum() + way;
  };
  SearchSettings settings;
  settings.keep = keep;
  const Equals equals{ground.space, limits.must, limits.must_not, limits.linkings};
  settings.equals = &equals;
  auto found = ground.search->best(fit, settings, work);
  if (!found) return tl::unexpected(found.error());
  into.considered += ground.space.raw_states();
  for (const SearchState& s : *found) {
    into.found.push_back({s.points, g, s.state.linking, s.state.stops, ground.search->boxes()[s.box]});
  }
  return {};
}

// Their band is a little wider than asked. A search knows nothing beyond what it found.
Result<Chooser::Sifted> Chooser::candidates(const Wish& wish, const std::vector<Taken>& taken, std::size_t keep,
                                            std::vector<Allowed>& allowed, const Work& work) {
  Sifted out;
  for (std::size_t g = 0; g < grounds_.size(); ++g) {
    if (grounds_[g]->map) {
      sift_map(g, wish, taken, keep, allowed[g], out, work);
    } else if (const auto searched = sift_search(g, wish, taken, keep, out, work); !searched) {
      return tl::unexpected(searched.error());
    }
  }
  if (work.stop.stop_requested()) return fail("stopped before the registrations were compared");
  if (mapped() && out.found.size() > keep) {
    std::nth_element(out.found.begin(), out.found.begin() + static_cast<std::ptrdiff_t>(keep), out.found.end());
    out.found.resize(keep);
    out.all = false;
  }
  std::sort(out.found.begin(), out.found.end());
  return out;
}

}  // namespace calcant
