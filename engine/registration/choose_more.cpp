// The chooser's other answers: how soft and how loud a keyboard can be, an audible step from the present registration,
// what no registration can do better, and what to say when nothing fits.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "engine/registration/choose_parts.hpp"

namespace calcant {
namespace {

constexpr double moved_points = 3.0;   // a step: each knob moved
constexpr double colour_points = 0.5;  // and each 0.06 acum that the colour changes
constexpr double acums_a_point = 0.06;
constexpr double least_step_phons = 1.0;
constexpr int most_moved = 3;

}  // namespace

double overlap(const Registration& a, const Registration& b) {
  const auto both = (a.stops & b.stops).count() + (a.couplers & b.couplers).count();
  const auto either = (a.stops | b.stops).count() + (a.couplers | b.couplers).count();
  return either == 0 ? 1 : static_cast<double>(both) / static_cast<double>(either);
}

Result<Chooser::Range> Chooser::range(Manner manner, const Work& work) {
  Ground& ground = *grounds_.front();
  std::optional<std::pair<double, Registration>> low;
  std::optional<std::pair<double, Registration>> high;
  const auto look = [&](std::size_t l, StopMask stops, const BoxPositions& box, double phons) {
    const bool softer = !low || phons < low->first;
    const bool louder = !high || phons > high->first;
    if ((!softer && !louder) || !ground.practice.allows(l, stops, manner)) return;
    Registration boxes;
    boxes.box = box;
    const Registration drawn = ground.space.registration(l, stops, boxes);
    if (softer) low = {phons, drawn};
    if (louder && (stops & ground.practice.celestes()) == 0) high = {phons, drawn};
  };
  if (ground.map) {
    ground.map->for_each([&](const MapState& s) { look(s.linking, s.stops, s.box, s.figures.phons); });
  } else {
    for (const double sign : {1.0, -1.0}) {
      const PointsOf fit = [&](const Space::State& s, std::size_t, const MapFigures& f) {
        return 300 + sign * f.phons + (ground.practice.allows(s.linking, s.stops, manner) ? 0 : unfit);
      };
      SearchSettings settings;
      settings.starts = 60;
      settings.keep = 8;
      const auto found = ground.search->best(fit, settings, work);
      if (!found) return tl::unexpected(found.error());
      for (const SearchState& s : *found) {
        look(s.state.linking, s.state.stops, ground.search->boxes()[s.box], s.figures.phons);
      }
    }
  }
  if (!low || !high) {
    return fail(fmt::format("no stop of the {} sounds at 8 ft by itself",
                            organ().keyboards[static_cast<std::size_t>(on_)].name));
  }
  return Range{low->second, high->second, Phons{ground.ear.hear(low->second).phons},
               Phons{ground.ear.hear(high->second).phons}};
}

Result<std::vector<Chooser::StepTaken>> Chooser::step(const StepWish& wish, const Work& work) {
  Ground& ground = *grounds_.front();
  const HeardOn before = ground.ear.hear(wish.present);
  if (!(before.pipes > 0)) return fail("nothing of the present registration sounds on these keys");
  const auto present = ground.space.state(wish.present);
  if (!present) return tl::unexpected(present.error());
  const bool proper = ground.practice.allows(present->linking, present->stops, Manner::free);
  const int warned = ground.practice.warnings(present->linking, present->stops);

  std::vector<Knob> movable;
  const auto consider = [&](Knob k) {
    const bool drawn = is_drawn(wish.present, k);
    if (drawn ? !is_drawn(wish.must, k) : !is_drawn(wish.must_not, k)) movable.push_back(k);
  };
  for (const StopIndex s : ground.space.stops()) consider({Knob::Kind::stop, s});
  for (const CouplerIndex c : ground.space.couplers()) consider({Knob::Kind::coupler, c});

  // All that differ by so many knobs, the boxes moved too as long as it is one knob at most.
  const auto differing = [&](int moved) {
    std::vector<Registration> out;
    std::vector<std::size_t> at(static_cast<std::size_t>(moved));
    const auto pick = [&](auto&& self, std::size_t depth, std::size_t first) -> void {
      if (depth == at.size()) {
        Registration r = wish.present;
        for (const std::size_t i : at) set_drawn(r, movable[i], !is_drawn(r, movable[i]));
        if (moved > 0) out.push_back(r);
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
    if (moved == most_moved && (!out.empty() || movable.size() > 24)) break;
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
      taken.moved = moved;
      taken.step = step;
      taken.box = r.box != wish.present.box;
      taken.chosen.drawn = r;
      taken.chosen.heard = heard;
      taken.chosen.points.knobs = moved_points * moved;
      taken.chosen.points.level = std::abs(step - wish.step);
      taken.chosen.points.colour = colour_points * std::abs(heard.acums - before.acums) / acums_a_point;
      taken.chosen.points.warnings = 2.0 * std::max(0, ground.practice.warnings(state->linking, state->stops) - warned);
      out.push_back(std::move(taken));
    }
    std::stable_sort(out.begin(), out.end(), [](const StepTaken& a, const StepTaken& b) {
      return a.chosen.points.sum() < b.chosen.points.sum();
    });
    // More knobs cannot do better than they cost.
    if (!out.empty() && out.front().chosen.points.sum() <= moved_points * (moved + 1)) break;
  }
  if (out.empty()) {
    return fail(
        fmt::format("no registration that practice allows is {} than this by an audible step and {} knobs or less",
                    wish.louder ? "louder" : "softer", most_moved));
  }
  if (out.size() > static_cast<std::size_t>(std::clamp(wish.limit, 1, 50))) {
    out.resize(static_cast<std::size_t>(std::clamp(wish.limit, 1, 50)));
  }
  for (StepTaken& t : out) {
    const PointsParts kept = t.chosen.points;
    t.chosen = describe(ground, plain, t.chosen.drawn);
    t.chosen.points = kept;
  }
  return out;
}

// On every chord the specific loudness of a registration is nowhere above that of everything together, and its sum is its
// loudness: the brightest (darkest) there could be is filled up from the top (from the bottom) of the filters. The level
// is a mean over the chords, so the chords may share it out as is best for the colour.
double Chooser::bound(const Wish& wish) {
  const double knobs = std::max<double>(1, static_cast<double>(wish.must.stops.count() + wish.must.couplers.count()));
  if (wish.colour == Colour::any) return knobs;
  double best = 1e9;
  for (auto& g : grounds_) {
    Ground& ground = *g;
    const Ear& ear = ground.ear.ear();
    const std::size_t chords = ground.space.chords().size();
    constexpr int steps = 141;  // a phon each
    // By chord and phon: the most extreme brightness at that loudness, for one point lower.
    std::vector<std::vector<double>> colour(chords);
    for (std::size_t c = 0; c < chords; ++c) {
      PipeSet all;
      all.ranks.resize(organ().ranks.size());
      double softest = 1e9;
      for (const Linking& l : ground.space.linkings()) {
        for (const Group& group : l.groups[c]) {
          const PipeSet pipes = pipe_set(organ(), group);
          for (std::size_t r = 0; r < pipes.ranks.size(); ++r) all.ranks[r] |= pipes.ranks[r];
          Registration shut;
          const auto alone = ear.hear(condensed(listening_->lines(pipes, shut), Cents{5}));
          if (alone) softest = std::min(softest, alone->loudness.phons.value());
        }
      }
      Registration open;
      open.box.fill(1);
      const auto everything = ear.hear(condensed(listening_->lines(all, open), Cents{5}));
      colour[c].assign(steps, 1e9);
      if (!everything) continue;
      const double whole = everything->loudness.sones.value();
      double sum = 0;
      for (const double s : everything->specific) sum += s;
      for (int p = static_cast<int>(std::floor(softest)); p < steps; ++p) {
        if (p < 0) continue;
        const double share = ear.sones(Phons{static_cast<double>(p)}).value() / whole;
        if (share > 1.1) break;
        double left = std::min(1.0, share) * sum;
        const double wanted = left;
        double weighed = 0;
        const std::size_t n = everything->specific.size();
        for (std::size_t i = 0; i < n && left > 0; ++i) {
          const std::size_t f = wish.colour == Colour::brighter ? n - 1 - i : i;
          const double part = std::min(left, everything->specific[f]);
          weighed += part * ear.brightness(f).value();
          left -= part;
        }
        if (wanted > 0) {
          colour[c][static_cast<std::size_t>(p)] =
              (wish.colour == Colour::brighter ? -1 : 1) * weighed / wanted / acums_a_point;
        }
      }
    }
    // Chord after chord, by the sum of phons so far.
    std::vector<double> so_far{0};
    for (std::size_t c = 0; c < chords; ++c) {
      std::vector<double> next(so_far.size() + steps, 1e9);
      for (std::size_t a = 0; a < so_far.size(); ++a) {
        for (std::size_t p = 0; p < steps; ++p) next[a + p] = std::min(next[a + p], so_far[a] + colour[c][p]);
      }
      so_far = std::move(next);
    }
    const double n = static_cast<double>(chords);
    for (std::size_t a = 0; a < so_far.size(); ++a) {
      const double off = std::abs(static_cast<double>(a) / n - wish.level.value());
      if (off <= wish.band + 1) best = std::min(best, so_far[a] / n);
    }
  }
  return knobs + best;
}

std::optional<Phons> Chooser::nearest_level(const Wish& wish) {
  double nearest = 1e9;
  for (auto& g : grounds_) {
    Ground& ground = *g;
    const auto limits = ground.limits(wish);
    if (!limits.possible || !ground.map) continue;
    ground.map->for_each([&](const MapState& s) {
      const double phons = s.figures.phons;
      if (std::abs(phons - wish.level.value()) >= std::abs(nearest - wish.level.value())) return;
      if (ground.allows(limits, s.linking, s.stops, wish.manner)) nearest = phons;
    });
  }
  return nearest < 1e8 ? std::optional{Phons{nearest}} : std::nullopt;
}

Error Chooser::nothing_fits(const Wish& wish, const Work& work) {
  const std::string board = organ().keyboards[static_cast<std::size_t>(on_)].name;
  if (const auto nearest = nearest_level(wish)) {
    return {fmt::format(
                "no registration of the {} that practice allows and in which every knob is heard comes within {:.0f} "
                "phon of {:.0f}; the nearest level is about {:.0f}",
                board, wish.band, wish.level.value(), nearest->value()),
            {}};
  }
  if (mapped()) {
    return {
        fmt::format("nothing that practice allows on the {} has all that must be drawn and nothing that must not; ask "
                    "for fewer of either",
                    board),
        {}};
  }
  const auto all = range(wish.manner, work);
  if (!all) return all.error();
  return {fmt::format("nothing was found on the {} within {:.0f} phon of {:.0f}; it goes from {:.0f} to {:.0f}", board,
                      wish.band, wish.level.value(), all->low.value(), all->high.value()),
          {}};
}

}  // namespace calcant
