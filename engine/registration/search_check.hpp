// The search against a whole map, on organs of 16 stops cut at random from a large one: for its tests and its benchmark,
// and for nothing else.
#pragma once

#include <algorithm>
#include <cmath>
#include <numeric>
#include <string>
#include <vector>

#include "engine/quantity/random.hpp"
#include "engine/registration/choose.hpp"

namespace calcant {

// 16 stops, three couplers and one swell box (shut, half open, open) of a large organ; `on` has an 8 ft stop of its own.
struct CutOrgan {
  Organ organ;
  KeyboardIndex on = 0;
};
inline CutOrgan cut_organ(const Organ& large, Random& random) {
  CutOrgan out{large, 0};
  Organ& o = out.organ;
  const auto drawn_by_lot = [&](std::size_t of) {
    std::vector<std::size_t> all(of);
    std::iota(all.begin(), all.end(), std::size_t{0});
    for (std::size_t i = of; i > 1; --i)
      std::swap(all[i - 1], all[static_cast<std::size_t>(random.below(static_cast<int>(i)))]);
    return all;
  };
  do out.on = random.below(static_cast<int>(o.keyboards.size()));
  while (o.keyboards[static_cast<std::size_t>(out.on)].pedal);
  const DivisionIndex home = o.keyboards[static_cast<std::size_t>(out.on)].division;
  const auto is_foundation = [&](const Stop& s) {
    return s.division == home && !s.celeste && s.feet.size() == 1 && s.feet.front().semitones() == 0;
  };
  const auto order = drawn_by_lot(large.stops.size());
  o.stops.clear();
  for (const std::size_t s : order) {
    if (o.stops.empty() && !is_foundation(large.stops[s])) continue;
    o.stops.push_back(large.stops[s]);
    if (o.stops.size() == 16) break;
  }
  const auto couplers = drawn_by_lot(large.couplers.size());
  o.couplers.clear();
  for (std::size_t i = 0; i < std::min<std::size_t>(3, couplers.size()); ++i) {
    Coupler c = large.couplers[couplers[i]];
    std::vector<CouplerIndex> carries;
    for (std::size_t j = 0; j < 3; ++j) {
      if (std::find(c.carries.begin(), c.carries.end(), static_cast<CouplerIndex>(couplers[j])) != c.carries.end())
        carries.push_back(static_cast<CouplerIndex>(j));
    }
    c.carries = carries;
    o.couplers.push_back(c);
  }
  o.accessories.clear();
  const BoxIndex kept = random.below(static_cast<int>(o.boxes.size()));
  for (Division& d : o.divisions) {
    if (d.box) d.box = *d.box == kept ? std::optional{0} : std::nullopt;
  }
  o.boxes = {large.boxes[static_cast<std::size_t>(kept)]};
  o.boxes[0].pedal = SwellPedal::lever;
  o.boxes[0].hitches = {0, 0.5, 1};
  return out;
}

struct SearchCheck {
  int organs = 0;
  int wishes = 0;   // that a whole map answers
  int missed = 0;   // and the search does not
  int as_good = 0;  // the search's first answer has no more points
  int ahead = 0;    // it has fewer: none, if the map's is the best
  double mean = 0;  // points the search's first answer has too many
  double worst = 0;
  double worst_phons = 0;  // of loudness, further from the level asked
  double worst_share = 0;  // of the objective, of those more than half a phon behind
  int over_bound = 0;      // wishes whose best registration has fewer points than `at_least`: none, if that is a bound
  double slack = 0;        // points between it and the best, the mean
  std::string at;          // where the search is furthest behind
};

inline SearchCheck check_search(const Organ& large, int organs, int wishes, std::uint64_t seed) {
  SearchCheck out;
  for (int i = 0; i < organs; ++i) {
    Random random{seed, static_cast<std::uint64_t>(i)};
    const CutOrgan cut = cut_organ(large, random);
    const Listening nave{cut.organ, usual_condition(cut.organ)};
    const auto chords = stated_chords(cut.organ, cut.on);
    auto mapped = Chooser::prepare(nave, cut.on, chords, {}, Work{2});
    auto searching = Chooser::prepare(nave, cut.on, chords, {}, Work{2}, 0);
    if (!mapped || !searching) continue;
    const auto range = mapped->range(Manner::free, Work{2});
    if (!range) continue;
    ++out.organs;
    for (int w = 0; w < wishes; ++w) {
      Wish wish;
      wish.level = Phons{random.uniform(range->low.value(), range->high.value())};
      wish.colour = static_cast<Colour>(w % 3);
      wish.manner = w % 4 == 3 ? Manner::hymn : Manner::free;
      const auto& stops = mapped->space().stops();
      for (Registration* limit : {&wish.must, &wish.must_not}) {
        if (random.below(4) != 0) continue;
        const int by_lot = random.below(static_cast<int>(stops.size()));
        limit->stops.set(static_cast<std::size_t>(stops[static_cast<std::size_t>(by_lot)]));
      }
      const auto best = mapped->ask(wish, Work{2});
      if (!best) continue;
      ++out.wishes;
      const Chosen& first = best->answers.front();
      const double points = first.points.sum();
      out.over_bound += best->at_least > points + 1e-9 ? 1 : 0;
      const auto found = searching->ask(wish, Work{2});
      if (!found) {
        ++out.missed;
        out.at = "organ " + std::to_string(i) + ", wish " + std::to_string(w) + ": nothing found";
        continue;
      }
      out.over_bound += found->at_least > points + 1e-9 ? 1 : 0;
      out.slack += points - found->at_least;
      const double behind = found->answers.front().points.sum() - points;
      out.as_good += behind < 1e-9 ? 1 : 0;
      out.ahead += behind < -1e-9 ? 1 : 0;
      out.mean += std::max(0.0, behind);
      out.worst_phons = std::max(out.worst_phons, found->answers.front().points.level - first.points.level);
      if (behind > 0.5) out.worst_share = std::max(out.worst_share, behind / std::max(1.0, std::abs(points)));
      if (behind <= out.worst) continue;
      out.worst = behind;
      out.at = "organ " + std::to_string(i) + ", wish " + std::to_string(w);
    }
  }
  out.mean /= std::max(1, out.wishes);
  out.slack /= std::max(1, out.wishes);
  return out;
}

}  // namespace calcant
