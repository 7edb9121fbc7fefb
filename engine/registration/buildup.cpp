#include "engine/registration/buildup.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <numeric>

namespace calcant {
namespace {

constexpr double uneven_cost = 20.0;   // times the square of a step's share off the even step
constexpr double knob_cost = 0.3;      // every knob after the first
constexpr double prepared_cost = 0.1;  // a stop of a division that was silent until then: drawn beforehand
constexpr double put_in_cost = 3.0;
constexpr double box_cost = 0.2;
constexpr double warning_cost = 0.5;
constexpr double least_phons = 1.0;
constexpr double end_near = 1.0;  // phon from the levels asked for
constexpr double reach = 0.75;    // of an even step: how far from its even level a step may stand
constexpr float nowhere = -1.0F;
constexpr std::size_t most_prepared = 10;

StopMask bit(int i) { return StopMask{1} << i; }

std::vector<int> bits_of(StopMask mask) {
  std::vector<int> out;
  for (; mask != 0; mask &= mask - 1) out.push_back(std::countr_zero(mask));
  return out;
}

// Levels of all states that may be steps, by linking, position of the boxes and stops, and the cheapest series through
// them: exact for the cost above, as far as a step goes from one state to another by the moves of `each_move`.
class Series {
 public:
  Series(Chooser& chooser, const BuildUpWish& wish) : chooser_(chooser), space_(chooser.space()), wish_(wish) {
    sets_ = std::size_t{1} << space_.stops().size();
    boxes_ = chooser.boxes().size();
    level_.assign(space_.linkings().size() * boxes_ * sets_, nowhere);
    const StopMask must = space_.mask(wish.must.stops);
    const StopMask must_not = space_.mask(wish.must_not.stops);
    chooser.map()->for_each([&](const MapState& s) {
      const auto& couplers = space_.linkings()[s.linking].couplers.couplers;
      if ((must & ~s.stops) != 0 || (must_not & s.stops) != 0 || (wish.must.couplers & ~couplers).any() ||
          (wish.must_not.couplers & couplers).any() || !chooser.practice().allows(s.linking, s.stops, Manner::chorus)) {
        return;
      }
      const auto box = static_cast<std::size_t>(std::find(chooser.boxes().begin(), chooser.boxes().end(), s.box) -
                                                chooser.boxes().begin());
      level_[index(s.linking, box, s.stops)] = s.figures.phons;
    });
    const DivisionIndex home = chooser.organ().keyboards[static_cast<std::size_t>(chooser.on())].division;
    for (std::size_t i = 0; i < space_.stops().size(); ++i) {
      const Stop& s = chooser.organ().stops[static_cast<std::size_t>(space_.stops()[i])];
      if (s.division == home) own_ |= bit(static_cast<int>(i));
    }
    for (std::size_t from = 0; from < space_.linkings().size(); ++from) {
      auto& on = further_.emplace_back();
      const auto& here = space_.linkings()[from].couplers.couplers;
      for (std::size_t to = 0; to < space_.linkings().size(); ++to) {
        const auto& there = space_.linkings()[to].couplers.couplers;
        if (to != from && (here & ~there).none() && (there & ~here).count() <= 2) on.push_back(to);
      }
    }
    wish_.from = nearest(wish.from);
    wish_.to = nearest(wish.to);
  }

  // Where it begins and ends: as asked, or at the nearest level there is.
  [[nodiscard]] Phons from() const { return wish_.from; }
  [[nodiscard]] Phons to() const { return wish_.to; }

  // As many registrations as asked, each step at least so many phon by the screen; nothing where there are none.
  std::vector<Registration> cheapest(int steps, double least, const Work& work) {
    const double even = (wish_.to.value() - wish_.from.value()) / (steps - 1);
    if (even < least) return {};
    std::vector<std::vector<Reached>> layers;
    layers.push_back(first(even));
    for (int k = 1; k < steps; ++k) {
      if (work.stop.stop_requested()) return {};
      layers.push_back(
          next(layers.back(), wish_.from.value() + k * even, k + 1 == steps ? end_near : reach * even, even, least));
      if (layers.back().empty()) return {};
      work.tell(static_cast<double>(k) / steps, "building up");
    }
    const auto& last = layers.back();
    std::size_t at = static_cast<std::size_t>(
        std::min_element(last.begin(), last.end(), [](const Reached& a, const Reached& b) { return a.cost < b.cost; }) -
        last.begin());
    std::vector<Registration> out;
    for (std::size_t k = layers.size(); k-- > 0;) {
      out.push_back(registration(layers[k][at].state));
      at = layers[k][at].from;
    }
    std::reverse(out.begin(), out.end());
    return out;
  }

 private:
  struct Reached {
    std::size_t state = 0;
    std::uint32_t from = 0;  // in the layer before
    float cost = 0;
  };
  [[nodiscard]] std::size_t index(std::size_t linking, std::size_t box, StopMask stops) const {
    return (linking * boxes_ + box) * sets_ + static_cast<std::size_t>(stops);
  }
  [[nodiscard]] Registration registration(std::size_t state) const {
    Registration boxes;
    boxes.box = chooser_.boxes()[state / sets_ % boxes_];
    return space_.registration(state / sets_ / boxes_, state % sets_, boxes);
  }
  [[nodiscard]] double own_cost(std::size_t state) const {
    return warning_cost * chooser_.practice().warnings(state / sets_ / boxes_, state % sets_);
  }

  // The level itself where something is within a phon of it.
  [[nodiscard]] Phons nearest(Phons asked) const {
    double best = std::numeric_limits<double>::infinity();
    for (const float level : level_) {
      if (level != nowhere && std::abs(level - asked.value()) < std::abs(best - asked.value())) best = level;
    }
    return std::isinf(best) || std::abs(best - asked.value()) <= end_near ? asked : Phons{best};
  }

  // The fewest knobs at the level the series begins with.
  std::vector<Reached> first(double even) {
    std::vector<Reached> out;
    for (std::size_t s = 0; s < level_.size(); ++s) {
      if (level_[s] == nowhere || std::abs(level_[s] - wish_.from.value()) > end_near) continue;
      const int knobs = space_.linkings()[s / sets_ / boxes_].knobs + std::popcount(s % sets_);
      const double off = std::abs(level_[s] - wish_.from.value()) / even;
      out.push_back({s, 0, static_cast<float>(knob_cost * knobs + off + own_cost(s))});
    }
    return out;
  }

  std::vector<Reached> next(const std::vector<Reached>& layer, double level, double off, double even, double least) {
    std::vector<Reached> out;
    if (place_.empty()) place_.assign(level_.size(), 0);
    for (std::uint32_t u = 0; u < layer.size(); ++u) {
      const float here = level_[layer[u].state];
      each_move(layer[u].state, [&](std::size_t v, double cost) {
        const float there = level_[v];
        if (there == nowhere || std::abs(there - level) > off || there - here < least) return;
        const double share = (there - here) / even - 1;
        const auto total = static_cast<float>(layer[u].cost + cost + uneven_cost * share * share + own_cost(v));
        std::uint32_t& at = place_[v];
        if (at == 0) {
          out.push_back({v, u, total});
          at = static_cast<std::uint32_t>(out.size());
        } else if (total < out[at - 1].cost) {
          out[at - 1] = {v, u, total};
        }
      });
    }
    for (const Reached& r : out) place_[r.state] = 0;
    return out;
  }

  // States one step further: one or two stops drawn, or one for another; a coupler or two and at most one of the
  // keyboard's own stops, with the coupled division as it was made ready; the boxes anyhow.
  template <class Visit>
  void each_move(std::size_t state, Visit&& visit) const {
    const StopMask stops = state % sets_;
    const std::size_t box = state / sets_ % boxes_;
    const std::size_t linking = state / sets_ / boxes_;
    const auto with_boxes = [&](std::size_t l, StopMask m, double cost) {
      for (std::size_t b = 0; b < boxes_; ++b) visit(index(l, b, m), cost + (b == box ? 0 : box_cost));
    };
    const StopMask all = space_.linkings()[linking].sounding;
    const std::vector<int> out_of = bits_of(all & ~stops);
    with_boxes(linking, stops, 0);
    for (std::size_t i = 0; i < out_of.size(); ++i) {
      with_boxes(linking, stops | bit(out_of[i]), 0);
      for (std::size_t j = i + 1; j < out_of.size(); ++j) {
        with_boxes(linking, stops | bit(out_of[i]) | bit(out_of[j]), knob_cost);
      }
      for (const int in : bits_of(stops))
        with_boxes(linking, (stops & ~bit(in)) | bit(out_of[i]), knob_cost + put_in_cost);
    }
    const bool silent_until_now = (stops & ~own_) == 0;
    for (const std::size_t l : further_[linking]) {
      const double couplers = knob_cost * (space_.linkings()[l].knobs - space_.linkings()[linking].knobs - 1);
      const StopMask there = space_.linkings()[l].sounding;
      const StopMask others = there & ~own_;
      const StopMask kept = stops & there;
      std::vector<StopMask> own{kept};
      for (const int s : bits_of(there & own_ & ~stops)) own.push_back(kept | bit(s));
      for (const StopMask mine : own) {
        const double one_more = couplers + (mine == kept ? 0 : knob_cost);
        if (!silent_until_now || static_cast<std::size_t>(std::popcount(others)) > most_prepared) {
          with_boxes(l, mine, one_more);
          for (const int s : bits_of(others & ~stops)) with_boxes(l, mine | bit(s), one_more + knob_cost);
          continue;
        }
        for (StopMask ready = others; ready != 0; ready = (ready - 1) & others) {
          with_boxes(l, mine | ready, one_more + prepared_cost * std::popcount(ready));
        }
      }
    }
  }

  Chooser& chooser_;
  const Space& space_;
  BuildUpWish wish_;
  std::size_t sets_ = 1;
  std::size_t boxes_ = 1;
  StopMask own_ = 0;                               // of the keyboard's own division
  std::vector<std::vector<std::size_t>> further_;  // by linking: those with one or two couplers more
  std::vector<float> level_;                       // by state
  std::vector<std::uint32_t> place_;               // by state: in the layer being made, counted from 1
};

// A box in which nothing speaks stands open, so that nothing is told of it.
Registration silent_boxes_open(ChordEar& ear, Registration drawn) {
  for (std::size_t b = 0; b < ear.listening().organ().boxes.size(); ++b) {
    Registration open = drawn;
    open.box[b] = 1;
    if (ear.hear(open).phons == ear.hear(drawn).phons) drawn = open;
  }
  return drawn;
}

}  // namespace

BuildUp judge_series(ChordEar& proof, std::string name, const std::vector<Registration>& series) {
  BuildUp out;
  out.name = std::move(name);
  out.every_step_heard = series.size() > 1;
  double largest = 0;
  double smallest = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < series.size(); ++i) {
    BuildUpStep s;
    s.drawn = silent_boxes_open(proof, series[i]);
    s.phons = proof.hear(series[i]).phons;
    if (i > 0) {
      s.moved = knobs_moved(series[i - 1], series[i]);
      s.box = series[i - 1].box != series[i].box;
      s.louder = s.phons - out.steps.back().phons;
      s.difference = proof.least(series[i - 1], series[i]);
      largest = std::max(largest, s.louder);
      smallest = std::min(smallest, s.louder);
      out.knobs += static_cast<double>(s.moved) / static_cast<double>(series.size() - 1);
      if (s.louder < least_phons || s.difference < Difference::audible) out.every_step_heard = false;
    }
    out.steps.push_back(s);
  }
  out.evenness = smallest > 0 ? largest / smallest : std::numeric_limits<double>::infinity();
  return out;
}

Result<BuildUpReport> build_up(Chooser& chooser, const BuildUpWish& wish, const Work& work) {
  if (wish.steps < 2 || wish.steps > 24) {
    return fail(fmt::format("{} steps are asked for; a build-up has 2 to 24", wish.steps));
  }
  if (wish.to.value() - wish.from.value() < least_phons) {
    return fail(
        fmt::format("the build-up would go from {:.0f} to {:.0f} phon; the second must be louder than the first",
                    wish.from.value(), wish.to.value()));
  }
  if (!chooser.mapped()) return fail("too many stops reach this keyboard for a build-up; forbid some");
  const auto proof_keys = proof_chords(chooser.organ(), chooser.on());
  ChordEar proof{chooser.ear().listening(), proof_keys.empty() ? chooser.ear().chords() : proof_keys};

  BuildUpReport report;
  report.asked = wish.steps;
  Series series{chooser, wish};
  report.from = series.from();
  report.to = series.to();
  for (int steps = wish.steps; steps >= 2 && report.best.steps.empty(); --steps) {
    // What is a step by the screen may be none on other chords: then a little more is asked of every step.
    for (const double least : {1.05, 1.3, 1.6, 2.0}) {
      const auto found = series.cheapest(steps, least, work);
      if (work.stop.stop_requested()) return fail("stopped before the build-up was found");
      if (found.empty()) break;
      BuildUp judged = judge_series(proof, "most even", found);
      if (!judged.every_step_heard) continue;
      if (report.best.steps.empty() || judged.evenness < report.best.evenness) report.best = std::move(judged);
    }
  }
  if (report.best.steps.empty()) {
    return fail(fmt::format(
        "between {:.0f} and {:.0f} phon the {} has no two registrations an audible step apart that "
        "practice allows",
        wish.from.value(), wish.to.value(), chooser.organ().keyboards[static_cast<std::size_t>(chooser.on())].name));
  }
  for (const bool swell_first : {false, true}) {
    const auto order = usual_order(chooser.organ(), chooser.on(), swell_first, wish.must_not);
    if (order.size() < 2) continue;
    report.others.push_back(
        judge_series(proof, swell_first ? "Swell coupled from the start" : "the usual order (R4)", order));
  }
  return report;
}

}  // namespace calcant
