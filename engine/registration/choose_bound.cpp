// How few points an allowed registration could have at best.
//
// So many knobs excite no filter more than the strongest stops there do, as many as there are knobs besides the couplers,
// each by what it excites in the filters of everything together: some stops are too few for a level, whichever they are.
// On every chord the specific loudness of a registration is nowhere above that of everything together, and its sum is its
// loudness: the brightest (darkest) there could be is filled up from the top (from the bottom) of the filters. The level
// is a mean over the chords, so the chords may share it out as is best for the colour.
#include <algorithm>
#include <atomic>
#include <cmath>
#include <functional>
#include <map>
#include <set>
#include <thread>

#include "engine/hearing/among.hpp"
#include "engine/registration/choose_parts.hpp"

namespace calcant {
namespace {

constexpr double none = 1e9;
constexpr int steps = 141;                // a phon each
constexpr std::size_t most_counted = 12;  // knobs; of more it is only said that they are no louder than everything
constexpr double slack_phons = 0.05;      // lines taken together shift by less

// By phon: the most extreme brightness at that loudness, in points.
std::vector<double> colour_points(const Ear& ear, const Heard& everything, double softest, Colour colour) {
  std::vector<double> out(steps, none);
  const double whole = everything.loudness.sones.value();
  double sum = 0;
  for (const double s : everything.specific) sum += s;
  for (int p = std::max(0, static_cast<int>(std::floor(softest))); p < steps; ++p) {
    const double share = ear.sones(Phons{static_cast<double>(p)}).value() / whole;
    if (share > 1.1) break;
    double left = std::min(1.0, share) * sum;
    const double wanted = left;
    double weighed = 0;
    const std::size_t n = everything.specific.size();
    for (std::size_t i = 0; i < n && left > 0; ++i) {
      const std::size_t f = colour == Colour::brighter ? n - 1 - i : i;
      const double part = std::min(left, everything.specific[f]);
      weighed += part * ear.brightness(f).value();
      left -= part;
    }
    if (wanted > 0) {
      out[static_cast<std::size_t>(p)] = (colour == Colour::brighter ? -1 : 1) * weighed / wanted / acums_a_point;
    }
  }
  return out;
}

// By knobs: no filter can be excited more, on chord c, by 1, 2 ... of them.
std::vector<Heard> most_by_knobs(const Space& space, const Listening& listening, const Ear& ear, std::size_t c,
                                 const Lines& everything) {
  Registration open;
  open.box.fill(1);
  std::map<std::vector<PipeId>, std::size_t> known;
  std::vector<Lines> parts;
  std::vector<std::vector<std::size_t>> by_linking(space.linkings().size());
  for (std::size_t l = 0; l < space.linkings().size(); ++l) {
    for (std::size_t s = 0; s < space.stops().size(); ++s) {
      Group stop;
      for (const Group& g : space.linkings()[l].groups[c]) {
        if ((g.stops >> s & 1) != 0) stop.pipes.insert(stop.pipes.end(), g.pipes.begin(), g.pipes.end());
      }
      if (stop.pipes.empty()) continue;
      std::sort(stop.pipes.begin(), stop.pipes.end());
      const auto [it, is_new] = known.try_emplace(stop.pipes, parts.size());
      if (is_new) parts.push_back(condensed(listening.lines(pipe_set(space.organ(), stop), open), Cents{5}));
      by_linking[l].push_back(it->second);
    }
  }
  const auto excited = excitations_among(ear, parts, everything);
  if (!excited || excited->empty()) return {};
  const std::size_t filters = excited->front().size();
  std::vector<std::vector<double>> most(most_counted, std::vector<double>(filters, 0.0));
  for (std::size_t l = 0; l < by_linking.size(); ++l) {
    const auto couplers = static_cast<std::size_t>(space.linkings()[l].knobs);
    if (couplers >= most_counted) continue;
    for (std::size_t f = 0; f < filters; ++f) {
      std::vector<double> here;
      for (const std::size_t p : by_linking[l]) here.push_back((*excited)[p][f]);
      const std::size_t count = std::min(here.size(), most_counted - couplers);
      std::partial_sort(here.begin(), here.begin() + static_cast<std::ptrdiff_t>(count), here.end(), std::greater<>{});
      double sum = 0;
      for (std::size_t k = couplers; k < most_counted; ++k) {
        if (k - couplers < count) sum += here[k - couplers];
        most[k][f] = std::max(most[k][f], sum);
      }
    }
  }
  std::vector<Heard> out;
  for (auto& m : most) out.push_back(heard_of(ear, std::move(m)));
  return out;
}

}  // namespace

const std::vector<Chooser::ColourLimits>& Chooser::colour_limits(Ground& ground, const Work& work) {
  if (ground.colour_limits) return *ground.colour_limits;
  const Ear& ear = ground.ear.ear();
  std::vector<ColourLimits> out(ground.space.chords().size());
  for (std::size_t c = 0; c < out.size(); ++c) {
    PipeSet all;
    all.ranks.resize(organ().ranks.size());
    std::set<std::vector<PipeId>> told;  // the same group speaks in many linkings
    std::vector<PipeSet> groups;
    for (const Linking& l : ground.space.linkings()) {
      for (const Group& group : l.groups[c]) {
        if (!told.insert(group.pipes).second) continue;
        groups.push_back(pipe_set(organ(), group));
        for (std::size_t r = 0; r < all.ranks.size(); ++r) all.ranks[r] |= groups.back().ranks[r];
      }
    }
    std::vector<double> alone(groups.size(), none);
    std::atomic<std::size_t> next{0};
    const auto listen = [&] {
      for (std::size_t i = next++; i < groups.size(); i = next++) {
        const auto heard = ear.hear(condensed(listening_->lines(groups[i], Registration{}), Cents{5}));
        if (heard) alone[i] = heard->loudness.phons.value();
      }
    };
    {
      std::vector<std::jthread> helpers;
      for (int t = 1; t < work.threads; ++t) helpers.emplace_back(listen);
      listen();
    }
    out[c].softest = alone.empty() ? none : *std::min_element(alone.begin(), alone.end());
    StopMask ever = 0;
    StopMask never = 0;
    for (const Linking& l : ground.space.linkings()) {
      StopMask here = 0;
      for (const Group& g : l.groups[c]) here |= g.stops;
      ever |= here;
      never |= l.sounding & ~here;
    }
    out[c].may_be_silent = ever == 0 || never != 0;
    Registration open;
    open.box.fill(1);
    const Lines lines = condensed(listening_->lines(all, open), Cents{5});
    if (auto everything = ear.hear(lines)) out[c].everything = std::move(*everything);
    if (ground.search) out[c].with_knobs = most_by_knobs(ground.space, *listening_, ear, c, lines);
  }
  ground.colour_limits = std::move(out);
  return *ground.colour_limits;
}

// The best colour, in points, of anything on all chords at a level, each chord being no more than `most` of it.
double Chooser::colour_bound(const Wish& wish, const Ear& ear, const std::vector<ColourLimits>& limits,
                             const std::vector<const Heard*>& most) {
  // Chord after chord, by the sum of phons so far.
  std::vector<double> so_far{0};
  for (std::size_t c = 0; c < limits.size(); ++c) {
    std::vector<double> colour(steps, none);
    if (most[c] != nullptr) colour = colour_points(ear, *most[c], limits[c].softest, wish.colour);
    if (limits[c].may_be_silent) colour[0] = std::min(colour[0], 0.0);
    std::vector<double> next(so_far.size() + steps, none);
    for (std::size_t a = 0; a < so_far.size(); ++a) {
      if (so_far[a] >= none) continue;
      for (std::size_t p = 0; p < steps; ++p) next[a + p] = std::min(next[a + p], so_far[a] + colour[p]);
    }
    so_far = std::move(next);
  }
  double best = none;
  const double n = static_cast<double>(limits.size());
  for (std::size_t a = 0; a < so_far.size(); ++a) {
    const double off = std::abs(static_cast<double>(a) / n - wish.level.value());
    if (off <= wish.band + 1) best = std::min(best, so_far[a] / n);
  }
  return best;
}

double Chooser::bound(const Wish& wish, const Work& work) {
  const std::size_t asked = std::max<std::size_t>(1, wish.must.stops.count() + wish.must.couplers.count());
  if (wish.colour == Colour::any && mapped()) return static_cast<double>(asked);
  double best = none;
  for (auto& ground : grounds_) {
    const auto& limits = colour_limits(*ground, work);
    const std::size_t counted = limits.front().with_knobs.size();
    for (std::size_t knobs = asked; knobs <= std::max(asked, counted + 1); ++knobs) {
      std::vector<const Heard*> most;
      double loudest = slack_phons;
      for (const ColourLimits& on : limits) {
        const Heard* heard = knobs <= on.with_knobs.size() ? &on.with_knobs[knobs - 1]
                             : on.everything               ? &*on.everything
                                                           : nullptr;
        most.push_back(heard);
        if (heard != nullptr) loudest += heard->loudness.phons.value() / static_cast<double>(limits.size());
      }
      const double short_of = std::max(0.0, wish.level.value() - loudest);
      if (short_of > wish.band) continue;
      const double colour = wish.colour == Colour::any ? 0 : colour_bound(wish, ground->ear.ear(), limits, most);
      best = std::min(best, static_cast<double>(knobs) + short_of + colour);
    }
  }
  return best < none / 2 ? best : static_cast<double>(asked);
}

}  // namespace calcant
