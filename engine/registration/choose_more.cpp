// The chooser's other answers: how soft and how loud a keyboard can be, an audible step from the present registration,
// what no registration can do better, and what to say when nothing fits.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>

#include "engine/registration/choose_parts.hpp"
#include "engine/registration/colour_words.hpp"
#include "engine/registration/equals.hpp"

namespace calcant {
namespace {

constexpr double moved_points = 3.0;   // a step: each knob moved
constexpr double colour_points = 0.5;  // and each 0.06 acum that the colour changes
constexpr double least_step_phons = 1.0;
constexpr int most_moved = 3;
constexpr double most_off = 30;           // phon: a level further off is not looked for
constexpr int heard_for_nearest = 64;     // in vain at a level, and the next is tried
constexpr std::size_t most_movable = 24;  // of more knobs only two are moved: three are too many to hear

}  // namespace

double overlap(const Registration& a, const Registration& b) {
  const auto both = (a.stops & b.stops).count() + (a.couplers & b.couplers).count();
  const auto either = (a.stops | b.stops).count() + (a.couplers | b.couplers).count();
  const auto fewer = std::min(a.stops.count() + a.couplers.count(), b.stops.count() + b.couplers.count());
  return both == fewer ? 1 : static_cast<double>(both) / static_cast<double>(either);
}

Result<Chooser::Range> Chooser::range(Manner manner, const Work& work, const Registration& must,
                                      const Registration& must_not) {
  Ground& ground = *grounds_.front();
  const bool free = must == Registration{} && must_not == Registration{};
  std::optional<Range>& known = ground.ranges[static_cast<std::size_t>(manner)];
  if (free && known) return *known;
  Wish asked;
  asked.must = must;
  asked.must_not = must_not;
  const auto limits = ground.limits(asked);
  const Equals equals{ground.space, limits.must, limits.must_not, limits.linkings};
  // A celeste makes nothing loud, unless it was asked for.
  const StopMask never_loud = ground.practice.celestes() & ~limits.must;
  std::optional<std::pair<double, Registration>> low;
  std::optional<std::pair<double, Registration>> high;
  const auto look = [&](std::size_t l, StopMask stops, const BoxPositions& box, double phons) {
    const bool softer = !low || phons < low->first;
    const bool louder = !high || phons > high->first;
    if (!softer && !louder) return;
    const auto state = equals.of({l, stops});
    if (!state || !ground.practice.allows(state->linking, state->stops, manner)) return;
    Registration boxes;
    boxes.box = box;
    const Registration drawn = ground.space.registration(state->linking, state->stops, boxes);
    if (softer) low = {phons, drawn};
    if (louder && (stops & never_loud) == 0) high = {phons, drawn};
  };
  if (!limits.possible) {
    // Nothing to look through.
  } else if (ground.map) {
    ground.map->for_each([&](const MapState& s) { look(s.linking, s.stops, s.box, s.figures.phons); });
  } else {
    for (const double sign : {1.0, -1.0}) {
      const PointsOf fit = [&](const Space::State& s, std::size_t, const MapFigures& f) {
        return 300 + sign * f.phons + (ground.allows(limits, s.linking, s.stops, manner) ? 0 : unfit) +
               20 * std::popcount(limits.must & ~s.stops) + 20 * std::popcount(limits.must_not & s.stops);
      };
      SearchSettings settings;
      settings.starts = 60;
      settings.keep = 8;
      settings.equals = &equals;
      const auto found = ground.search->best(fit, settings, work);
      if (!found) return tl::unexpected(found.error());
      for (const SearchState& s : *found) {
        look(s.state.linking, s.state.stops, ground.search->boxes()[s.box], s.figures.phons);
      }
    }
  }
  if (!free && (!low || !high)) {
    return fail(
        fmt::format("nothing that practice allows on the {} has all that must be drawn and nothing that must not; "
                    "ask for fewer of either",
                    organ().keyboards[static_cast<std::size_t>(on_)].name));
  }
  if (!low || !high) {
    return fail(fmt::format("no stop of the {} sounds at 8 ft by itself",
                            organ().keyboards[static_cast<std::size_t>(on_)].name));
  }
  const Range found{low->second, high->second, Phons{ground.ear.hear(low->second).phons},
                    Phons{ground.ear.hear(high->second).phons}};
  if (free) known = found;
  return found;
}

Result<std::vector<Chooser::StepTaken>> Chooser::step(const StepWish& wish, const Work& work) {
  Ground& ground = *grounds_.front();
  const HeardOn before = ground.ear.hear(wish.present);
  if (!(before.pipes > 0)) return fail("nothing of the present registration sounds on these keys");
  const auto present = ground.space.state(wish.present);
  if (!present) return tl::unexpected(present.error());
  const bool proper = ground.practice.allows(present->linking, present->stops, Manner::free);
  const int warned = ground.practice.warnings(present->linking, present->stops);
  const int makeshift = ground.practice.makeshifts(present->linking, present->stops);

  // What must be and must not be is so in every answer; moving it counts.
  Registration from = wish.present;
  from.stops = (from.stops | wish.must.stops) & ~wish.must_not.stops;
  from.couplers = (from.couplers | wish.must.couplers) & ~wish.must_not.couplers;
  const int bound =
      static_cast<int>((from.stops ^ wish.present.stops).count() + (from.couplers ^ wish.present.couplers).count());
  std::vector<Knob> movable;
  const auto consider = [&](Knob k) {
    if (!is_drawn(wish.must, k) && !is_drawn(wish.must_not, k)) movable.push_back(k);
  };
  for (const StopIndex s : ground.space.stops()) consider({Knob::Kind::stop, s});
  for (const CouplerIndex c : ground.space.couplers()) consider({Knob::Kind::coupler, c});

  // All that differ by so many knobs, the boxes moved too as long as it is one knob at most.
  const auto differing = [&](int moved) {
    std::vector<Registration> out;
    std::vector<std::size_t> at(static_cast<std::size_t>(moved));
    const auto pick = [&](auto&& self, std::size_t depth, std::size_t first) -> void {
      if (depth == at.size()) {
        Registration r = from;
        for (const std::size_t i : at) set_drawn(r, movable[i], !is_drawn(r, movable[i]));
        if (moved + bound > 0) out.push_back(r);
        for (const BoxPositions& box : boxes_) {
          if (moved > 1 || box == r.box) continue;
          Registration boxed = r;
          boxed.box = box;
          out.push_back(boxed);
        }
        return;
      }
      for (std::size_t i = first; i < movable.size(); ++i) {
        at[depth] = i;
        self(self, depth + 1, i + 1);
      }
    };
    pick(pick, 0, 0);
    return out;
  };

  std::vector<StepTaken> out;
  Wish plain;
  for (int moved = 0; moved <= most_moved; ++moved) {
    if (moved == most_moved && movable.size() > most_movable) break;
    const std::vector<Registration> all = differing(moved);
    ground.ear.hear_all(all, work);
    if (work.stop.stop_requested()) return fail("stopped before the registrations were compared");
    for (const Registration& r : all) {
      const HeardOn& heard = ground.ear.hear(r);
      const double step = (wish.louder ? 1 : -1) * (heard.phons - before.phons);
      if (step < least_step_phons || !(heard.pipes > 0)) continue;
      const auto state = ground.space.state(r);
      if (!state || (proper && !ground.practice.allows(state->linking, state->stops, Manner::free))) continue;
      if (ground.ear.least(wish.present, r) < Difference::audible) continue;
      StepTaken taken;
      taken.moved = bound + moved;
      taken.step = step;
      taken.box = r.box != wish.present.box;
      taken.chosen.drawn = r;
      taken.chosen.heard = heard;
      taken.chosen.points.knobs = moved_points * taken.moved;
      taken.chosen.points.level = std::abs(step - wish.step);
      const double brighter = (heard.acums - before.acums) / acums_a_point;
      if (wish.colour == Colour::brighter ? brighter <= 0 : wish.colour == Colour::darker && brighter >= 0) continue;
      taken.chosen.points.colour = wish.colour == Colour::brighter ? -brighter
                                   : wish.colour == Colour::darker ? brighter
                                                                   : colour_points * std::abs(brighter);
      taken.chosen.points.makeshifts =
          makeshift_points * std::max(0, ground.practice.makeshifts(state->linking, state->stops) - makeshift);
      taken.chosen.points.warnings =
          warning_points * std::max(0, ground.practice.warnings(state->linking, state->stops) - warned);
      out.push_back(std::move(taken));
    }
    std::stable_sort(out.begin(), out.end(), [](const StepTaken& a, const StepTaken& b) {
      return a.chosen.points.sum() < b.chosen.points.sum();
    });
    // More knobs cannot do better than they cost, where no colour is asked for.
    if (wish.colour == Colour::any && !out.empty() &&
        out.front().chosen.points.sum() <= moved_points * (bound + moved + 1))
      break;
  }
  if (out.empty()) {
    return fail(
        fmt::format("no registration that practice allows is {}{} than this by an audible step and {} knobs or less",
                    wish.louder ? "louder" : "softer", and_colour(wish.colour), most_moved));
  }
  // The same knobs with a box elsewhere are one answer, the best; more so where nothing speaks in the box.
  std::vector<StepTaken> each;
  for (StepTaken& t : out) {
    const bool told = std::any_of(each.begin(), each.end(), [&](const StepTaken& e) {
      return e.chosen.drawn.stops == t.chosen.drawn.stops && e.chosen.drawn.couplers == t.chosen.drawn.couplers;
    });
    if (!told) each.push_back(std::move(t));
  }
  out = std::move(each);
  if (out.size() > static_cast<std::size_t>(std::clamp(wish.limit, 1, 50))) {
    out.resize(static_cast<std::size_t>(std::clamp(wish.limit, 1, 50)));
  }
  for (StepTaken& t : out) {
    const PointsParts kept = t.chosen.points;
    t.chosen = describe(ground, plain, t.chosen.drawn, work);
    t.chosen.points = kept;
  }
  return out;
}

std::optional<Phons> Chooser::nearest_level(const Wish& wish, double within, const Work& work) {
  Wish one = wish;
  one.limit = 1;
  for (double off = 1; off <= within; ++off) {
    for (const double way : {-off, off}) {
      one.level = Phons{wish.level.value() + way};
      const auto found = find(one, work);
      if (!found) return std::nullopt;
      if (!found->taken.empty()) return one.level;
    }
  }
  return std::nullopt;
}

Error Chooser::nothing_fits(const Wish& wish, const Work& work) {
  const std::string board = organ().keyboards[static_cast<std::size_t>(on_)].name;
  const auto all = range(wish.manner, work, wish.must, wish.must_not);
  if (!all) return all.error();
  Wish plain = wish;
  plain.sure = false;
  plain.patience = heard_for_nearest;
  const double far = std::max(wish.level.value() - all->low.value(), all->high.value() - wish.level.value());
  const auto nearest = nearest_level(plain, std::min(far + 1, most_off), work);
  return {fmt::format("no registration of the {} that practice allows and in which every knob is heard comes within "
                      "{:.0f} phon of {:.0f}{}; it goes from {:.0f} to {:.0f}",
                      board, wish.band, wish.level.value(),
                      nearest ? fmt::format("; one does of {:.0f}", nearest->value()) : "", all->low.value(),
                      all->high.value()),
          {}};
}

}  // namespace calcant
