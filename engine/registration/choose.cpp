#include "engine/registration/choose.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <bit>
#include <cmath>
#include <numeric>
#include <thread>

#include "engine/registration/choose_parts.hpp"

namespace calcant {
namespace {

constexpr double acums_a_point =
    0.06;  // about the step of sharpness that can be told (hearing.md section 6: 0.04 to 0.08)
constexpr double warning_points = 2.0;
constexpr double played_points = 1.0;
constexpr double screen_phons = 0.35;  // the screen may be off by this much of a level
constexpr double screen_points = 0.7;  // and by this much of the objective
constexpr std::size_t most_kept = 60000;
constexpr double apart = 0.5;  // answers share less than this of their knobs

using Histogram = std::array<double, 400>;  // of brightness, 0.02 acum each

std::size_t bin(double acums) {
  return std::min<std::size_t>(static_cast<std::size_t>(std::max(0.0, acums) * 50), 399);
}

}  // namespace

PointsParts points(const Wish& wish, int knobs, int warnings, double phons, double acums, int played) {
  PointsParts p;
  p.knobs = knobs;
  p.warnings = warning_points * warnings;
  p.level = std::abs(phons - wish.level.value());
  if (wish.colour == Colour::brighter) p.colour = -acums / acums_a_point;
  if (wish.colour == Colour::darker) p.colour = acums / acums_a_point;
  p.played = played == 0 ? 0 : played_points;
  return p;
}

Chooser::Chooser(const Listening& listening, KeyboardIndex on) : listening_(&listening), on_(on) {}
Chooser::~Chooser() = default;
Chooser::Chooser(Chooser&&) noexcept = default;
Chooser& Chooser::operator=(Chooser&&) noexcept = default;

Result<Chooser> Chooser::prepare(const Listening& listening, KeyboardIndex on, const std::vector<KeysDown>& chords,
                                 const Registration& forbidden, const Work& work) {
  Chooser out{listening, on};
  const Organ& organ = listening.organ();
  out.boxes_ = box_positions(organ);
  const std::vector<int> moves = chords.empty() ? std::vector<int>{0, -12, 12} : std::vector<int>{0};
  for (const int played : moves) {
    const auto at = chords.empty() ? stated_chords(organ, on, played) : chords;
    if (at.empty() && played != 0) continue;
    auto space = Space::make(organ, at, forbidden);
    if (!space) return tl::unexpected(space.error());
    auto ground = std::make_unique<Ground>(std::move(*space), on, listening, played);
    auto map = Map::make(ground->space, listening, out.boxes_, work);
    if (map) {
      ground->map = std::move(*map);
    } else if (work.stop.stop_requested()) {
      return tl::unexpected(map.error());
    } else {
      // Too large for a map: it is searched, at pitch only.
      if (played != 0) continue;
      auto search = Search::make(ground->space, listening, out.boxes_);
      if (!search) return tl::unexpected(search.error());
      ground->search = std::move(*search);
    }
    out.grounds_.push_back(std::move(ground));
  }
  return out;
}

ChordEar& Chooser::ear(int played) {
  for (auto& g : grounds_) {
    if (g->played == played) return g->ear;
  }
  return grounds_.front()->ear;
}
const Space& Chooser::space() const { return grounds_.front()->space; }
const Practice& Chooser::practice() const { return grounds_.front()->practice; }
bool Chooser::mapped() const { return grounds_.front()->map.has_value(); }
const Map* Chooser::map() const { return grounds_.front()->map ? &*grounds_.front()->map : nullptr; }

// The best by the screen's figures, their band a little wider than asked.
Result<Chooser::Sifted> Chooser::candidates(const Wish& wish, std::size_t keep, const Work& work) {
  Sifted sifted;
  std::vector<Candidate>& out = sifted.found;
  for (std::size_t g = 0; g < grounds_.size(); ++g) {
    Ground& ground = *grounds_[g];
    const auto limits = ground.limits(wish);
    if (!limits.possible) continue;
    const double band = wish.band + screen_phons;
    const auto of = [&](std::size_t l, StopMask stops, const MapFigures& f) {
      const int knobs = ground.linking(l).knobs + std::popcount(stops);
      return points(wish, knobs, ground.practice.warnings(l, stops), f.phons, f.acums, ground.played).sum();
    };
    if (ground.map) {
      const Map& map = *ground.map;
      sifted.considered += static_cast<double>(map.size());
      std::vector<std::vector<Candidate>> found(map.blocks());
      std::vector<Histogram> acums(map.blocks());
      std::atomic<std::size_t> next{0};
      const auto sift = [&] {
        for (std::size_t b = next.fetch_add(1); b < found.size(); b = next.fetch_add(1)) {
          if (work.stop.stop_requested()) return;
          std::vector<Candidate>& mine = found[b];
          double worst = 1e9;
          const auto settle = [&] {
            std::sort(mine.begin(), mine.end());
            if (mine.size() > keep) mine.resize(keep);
            if (mine.size() == keep) worst = mine.back().points;
          };
          map.for_block(b, [&](const MapState& s) {
            if (std::abs(s.figures.phons - wish.level.value()) > band) return;
            if (!ground.allows(limits, s.linking, s.stops, wish.manner)) return;
            ++acums[b][bin(s.figures.acums)];
            Candidate c;
            c.points = of(s.linking, s.stops, s.figures);
            if (c.points > worst) return;
            c.ground = g;
            c.linking = s.linking;
            c.stops = s.stops;
            c.box = s.box;
            mine.push_back(c);
            if (mine.size() >= 4 * keep) settle();
          });
          settle();
        }
      };
      {
        std::vector<std::jthread> helpers;
        for (int t = 1; t < work.threads; ++t) helpers.emplace_back(sift);
        sift();
      }
      if (work.stop.stop_requested()) return fail("stopped before the registrations were compared");
      for (auto& f : found) out.insert(out.end(), f.begin(), f.end());
      sifted.acums.resize(Histogram{}.size());
      for (const Histogram& h : acums) {
        for (std::size_t i = 0; i < h.size(); ++i) sifted.acums[i] += h[i];
      }
    } else {
      const PointsOf fit = [&](const Space::State& s, std::size_t, const MapFigures& f) {
        const double off = std::max(0.0, std::abs(f.phons - wish.level.value()) - band);
        const bool allowed = ground.allows(limits, s.linking, s.stops, wish.manner);
        const double way = (off > 0 ? unfit + 20 * off : 0) + (allowed ? 0 : unfit) +
                           20 * std::popcount(limits.must & ~s.stops) + 20 * std::popcount(limits.must_not & s.stops);
        return of(s.linking, s.stops, f) + way;
      };
      SearchSettings settings;
      settings.keep = keep;
      auto found = ground.search->best(fit, settings, work);
      if (!found) return tl::unexpected(found.error());
      sifted.considered += ground.space.raw_states();
      for (const SearchState& s : *found) {
        Candidate c;
        c.points = s.points;
        c.ground = g;
        c.linking = s.state.linking;
        c.stops = s.state.stops;
        c.box = ground.search->boxes()[s.box];
        out.push_back(c);
      }
    }
  }
  std::sort(out.begin(), out.end());
  if (out.size() > keep) out.resize(keep);
  return sifted;
}

// A knob that may be put in and nobody would notice is no part of an answer, unless it was asked for.
bool Chooser::every_knob_is_heard(Ground& ground, const Wish& wish, const Registration& drawn) {
  for (const Knob knob : knobs(organ(), drawn)) {
    if (is_drawn(wish.must, knob)) continue;
    Registration without = drawn;
    set_drawn(without, knob, false);
    if (ground.ear.most(without, drawn) < Difference::audible) return false;
  }
  return true;
}

Result<PointsParts> Chooser::judge(const Wish& wish, const Registration& drawn, int played) {
  for (auto& g : grounds_) {
    Ground& ground = *g;
    if (ground.played != played) continue;
    const auto state = ground.space.state(drawn);
    if (!state) return tl::unexpected(state.error());
    if (!ground.space.canonical(state->linking, state->stops) ||
        ground.space.registration(state->linking, state->stops, drawn) != drawn) {
      return fail("the same pipes sound with fewer knobs");
    }
    if (!ground.allows(ground.limits(wish), state->linking, state->stops, wish.manner)) {
      return fail("against what was asked, or against practice");
    }
    const HeardOn& heard = ground.ear.hear(drawn);
    if (std::abs(heard.phons - wish.level.value()) > wish.band) return fail("not that level");
    const int count = ground.linking(state->linking).knobs + std::popcount(state->stops);
    const auto out =
        points(wish, count, ground.practice.warnings(state->linking, state->stops), heard.phons, heard.acums, played);
    if (!every_knob_is_heard(ground, wish, drawn)) return fail("a knob of it changes nothing");
    return out;
  }
  return fail("the keyboard does not reach so far");
}

Chosen Chooser::describe(Ground& ground, const Wish& wish, const Registration& drawn) {
  Chosen out;
  out.drawn = drawn;
  out.played = ground.played;
  out.heard = ground.ear.hear(drawn);
  if (const auto state = ground.space.state(drawn)) {
    const int count = static_cast<int>(drawn.stops.count() + drawn.couplers.count());
    out.points = points(wish, count, ground.practice.warnings(state->linking, state->stops), out.heard.phons,
                        out.heard.acums, ground.played);
  }
  std::vector<Knob> all = knobs(organ(), drawn);
  for (const bool couplers : {false, true}) {
    const std::size_t size = couplers ? ground.space.couplers().size() : ground.space.stops().size();
    for (std::size_t i = 0; i < size; ++i) {
      const Knob k{couplers ? Knob::Kind::coupler : Knob::Kind::stop,
                   couplers ? ground.space.couplers()[i] : ground.space.stops()[i]};
      if (!is_drawn(drawn, k)) all.push_back(k);
    }
  }
  for (const Knob k : all) {
    Neighbour n;
    n.knob = k;
    n.drawn = is_drawn(drawn, k);
    Registration moved = drawn;
    set_drawn(moved, k, !n.drawn);
    n.difference = ground.ear.most(drawn, moved);
    n.phons = ground.ear.hear(moved).phons - out.heard.phons;
    n.acums = ground.ear.hear(moved).acums - out.heard.acums;
    out.neighbours.push_back(n);
  }
  Registration open = drawn;
  open.box.fill(1);
  out.box_reserve = ground.ear.hear(open).phons - out.heard.phons;
  return out;
}

Result<Choice> Chooser::ask(const Wish& wish, const Work& work) {
  if (wish.limit < 1 || wish.limit > 50) {
    return fail(fmt::format("{} answers are asked for; between 1 and 50 can be given", wish.limit));
  }
  Choice out;
  out.searched = !mapped();
  for (std::size_t keep = 256;; keep *= 6) {
    auto sifted = candidates(wish, keep, work);
    if (!sifted) return tl::unexpected(sifted.error());
    const std::vector<Candidate>* found = &sifted->found;
    out.considered = sifted->considered;
    struct Judged {
      double points;
      const Candidate* candidate;
      Registration drawn;
    };
    std::vector<Judged> judged;
    for (std::size_t g = 0; g < grounds_.size(); ++g) {
      std::vector<Registration> mine;
      for (const Candidate& c : *found) {
        if (c.ground != g) continue;
        Registration boxes;
        boxes.box = c.box;
        mine.push_back(grounds_[g]->space.registration(c.linking, c.stops, boxes));
      }
      grounds_[g]->ear.hear_all(mine, work);
      if (work.stop.stop_requested()) return fail("stopped before the registrations were compared");
      std::size_t i = 0;
      for (const Candidate& c : *found) {
        if (c.ground != g) continue;
        Ground& ground = *grounds_[g];
        const Registration& drawn = mine[i++];
        const HeardOn& heard = ground.ear.hear(drawn);
        if (std::abs(heard.phons - wish.level.value()) > wish.band) continue;
        const int count = ground.linking(c.linking).knobs + std::popcount(c.stops);
        const int warnings = ground.practice.warnings(c.linking, c.stops);
        judged.push_back({points(wish, count, warnings, heard.phons, heard.acums, ground.played).sum(), &c, drawn});
      }
    }
    std::sort(judged.begin(), judged.end(), [](const Judged& a, const Judged& b) {
      return a.points != b.points ? a.points < b.points : *a.candidate < *b.candidate;
    });
    out.answers.clear();
    struct Taken {
      const Judged* judged;
      Ground* ground;
    };
    std::vector<Taken> taken;
    for (const Judged& j : judged) {
      if (static_cast<int>(taken.size()) >= wish.limit) break;
      if (work.stop.stop_requested()) return fail("stopped before the registrations were compared");
      Ground& ground = *grounds_[j.candidate->ground];
      const auto alike = [&](const Taken& t) {
        return t.ground == &ground && (overlap(t.judged->drawn, j.drawn) > apart ||
                                       ground.ear.most(t.judged->drawn, j.drawn) < Difference::audible);
      };
      if (std::any_of(taken.begin(), taken.end(), alike)) continue;
      if (every_knob_is_heard(ground, wish, j.drawn)) taken.push_back({&j, &ground});
    }
    // Enough when nothing that was left out can be better than the first, or nothing was left out.
    const bool all = found->size() < keep;
    const bool sure = !taken.empty() && taken.front().judged->points <= found->back().points - screen_points;
    if (!all && !sure && keep < most_kept) continue;
    if (taken.empty()) return tl::unexpected(nothing_fits(wish, work));
    for (const Taken& t : taken) {
      Chosen& chosen = out.answers.emplace_back(describe(*t.ground, wish, t.judged->drawn));
      const double at_this_level = std::accumulate(sifted->acums.begin(), sifted->acums.end(), 0.0);
      if (at_this_level < 10) continue;
      const auto mine = sifted->acums.begin() + static_cast<std::ptrdiff_t>(bin(chosen.heard.acums));
      chosen.brighter_than = std::accumulate(sifted->acums.begin(), mine, 0.0) / at_this_level;
    }
    break;
  }
  out.at_least = bound(wish);
  return out;
}

}  // namespace calcant
