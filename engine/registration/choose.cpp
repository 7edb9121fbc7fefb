#include "engine/registration/choose.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <numeric>
#include <set>

#include "engine/registration/choose_parts.hpp"
#include "engine/registration/equals.hpp"

namespace calcant {
namespace {

constexpr double played_points = 1.0;
// By how much the screen may be off in the objective: its level, and its brightness where that counts.
constexpr double screen_level_points = 0.35;
constexpr double screen_colour_points = 0.35;
constexpr std::size_t first_kept = 512;
constexpr std::size_t most_kept = 100000;     // for one answer
constexpr std::size_t more_kept = 3000;       // for another beside it
constexpr std::ptrdiff_t heard_at_once = 16;  // in parallel
constexpr int heard_for_another = 128;        // in vain, and no other is given
constexpr int heard_after_a_search = 1024;    // likewise: the more knobs, the more of them make no difference
constexpr int same_foundation = 3;            // answers on the same 8 ft stops of the manual's own

}  // namespace

PointsParts points(const Wish& wish, int knobs, const PracticeAgainst& against, double phons, double acums,
                   int played) {
  PointsParts p;
  p.knobs = knobs;
  p.warnings = warning_points * against.warnings;
  p.makeshifts = makeshift_points * against.makeshifts;
  p.soft = wish.soft ? soft_points * against.soft : 0;
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
                                 const Registration& forbidden, const Work& work, double mapped_up_to) {
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
    Result<Map> map = tl::unexpected(Error{});
    if (ground->space.raw_states() <= mapped_up_to) map = Map::make(ground->space, listening, out.boxes_, work);
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
    // So that no later wish waits for them: every pipe taken to the ear, and what bounds stand on.
    Registration everything;
    for (std::size_t i = 0; i < organ.stops.size(); ++i) everything.stops.set(i);
    for (std::size_t i = 0; i < organ.couplers.size(); ++i) everything.couplers.set(i, !organ.couplers[i].unison_off);
    for (const BoxPositions& box : out.boxes_) {
      everything.box = box;
      (void)ground->ear.hear(everything);
    }
    (void)out.colour_limits(*ground, work);
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

// A knob that may be put in and nobody would notice is no part of an answer, unless it was asked for. One is enough, and
// what was not missed in another registration is the likeliest not to be missed in this one.
bool Chooser::every_knob_is_heard(Ground& ground, const Wish& wish, const Registration& drawn, const Work& work) {
  std::vector<Knob> mine;
  for (const Knob knob : ground.unmissed) {
    if (is_drawn(drawn, knob) && !is_drawn(wish.must, knob)) mine.push_back(knob);
  }
  const std::size_t suspects = std::min<std::size_t>(mine.size(), static_cast<std::size_t>(std::max(work.threads, 1)));
  for (const Knob knob : knobs(organ(), drawn)) {
    if (!is_drawn(wish.must, knob) && std::find(mine.begin(), mine.end(), knob) == mine.end()) mine.push_back(knob);
  }
  const auto heard = [&](std::size_t first, std::size_t last) {
    std::vector<Registration> without;
    for (std::size_t i = first; i < last; ++i) set_drawn(without.emplace_back(drawn), mine[i], false);
    ground.ear.hear_all(without, work);
    for (std::size_t i = first; i < last && !work.stop.stop_requested(); ++i) {
      if (wish.sure ? ground.ear.surely(without[i - first], drawn)
                    : ground.ear.most(without[i - first], drawn) >= Difference::audible)
        continue;
      std::erase(ground.unmissed, mine[i]);
      ground.unmissed.insert(ground.unmissed.begin(), mine[i]);
      return false;
    }
    return true;
  };
  return heard(0, suspects) && heard(suspects, mine.size()) && !work.stop.stop_requested();
}

bool Chooser::worth_knowing(const Wish& wish, const std::vector<Taken>& taken, const Ground& ground,
                            std::size_t linking, StopMask stops) const {
  if (taken.empty()) return true;
  const auto practice = [&](const Ground& g, std::size_t l, StopMask s) {
    return points(wish, 0, g.practice.against(l, s), 0, 0, 0).practice();
  };
  const Taken& first = taken.front();
  if (practice(ground, linking, stops) >
      practice(*first.ground, first.candidate.linking, first.candidate.stops) + warning_points) {
    return false;
  }
  const auto alike = std::count_if(taken.begin(), taken.end(), [&](const Taken& t) {
    return t.ground == &ground && ground.practice.foundation(t.candidate.linking, t.candidate.stops) ==
                                      ground.practice.foundation(linking, stops);
  });
  return alike < same_foundation;
}

Result<PointsParts> Chooser::judge(const Wish& wish, const Registration& drawn, int played) {
  for (auto& g : grounds_) {
    Ground& ground = *g;
    if (ground.played != played) continue;
    const auto state = ground.space.state(drawn);
    if (!state) return tl::unexpected(state.error());
    const auto limits = ground.limits(wish);
    if (!ground.allows(limits, state->linking, state->stops, wish.manner)) {
      return fail("against what was asked, or against practice");
    }
    if (!Equals{ground.space, limits.must, limits.must_not, limits.linkings}.stands(*state) ||
        ground.space.registration(state->linking, state->stops, drawn) != drawn) {
      return fail("the same pipes sound with fewer knobs");
    }
    const HeardOn& heard = ground.ear.hear(drawn);
    if (std::abs(heard.phons - wish.level.value()) > wish.band) return fail("not that level");
    const int count = ground.linking(state->linking).knobs + std::popcount(state->stops);
    const auto out =
        points(wish, count, ground.practice.against(state->linking, state->stops), heard.phons, heard.acums, played);
    if (!every_knob_is_heard(ground, wish, drawn, Work{})) return fail("a knob of it changes nothing");
    if (wish.fits && !wish.fits(drawn)) return fail("it does not serve what it is for");
    return out;
  }
  return fail("the keyboard does not reach so far");
}

std::vector<Knob> Chooser::knobs_nearby(const Ground& ground, const Registration& drawn) const {
  std::vector<Knob> all = knobs(organ(), drawn);
  const auto other = [&](Knob k) {
    if (!is_drawn(drawn, k)) all.push_back(k);
  };
  for (const StopIndex s : ground.space.stops()) other({Knob::Kind::stop, s});
  // What takes a sound away is nothing that a knob more would add.
  for (const CouplerIndex c : ground.space.couplers()) {
    if (!organ().couplers[static_cast<std::size_t>(c)].unison_off) other({Knob::Kind::coupler, c});
  }
  return all;
}

Chosen Chooser::describe(Ground& ground, const Wish& wish, const Registration& drawn, const Work& work) {
  const std::vector<Knob> all = knobs_nearby(ground, drawn);
  std::vector<Registration> heard{drawn};
  for (const Knob k : all) set_drawn(heard.emplace_back(drawn), k, !is_drawn(drawn, k));
  heard.emplace_back(drawn).box.fill(1);
  for (std::size_t b = 0; b < organ().boxes.size(); ++b) heard.emplace_back(drawn).box[b] = drawn.box[b] < 0.5F ? 1 : 0;
  ground.ear.hear_all(heard, work);

  Chosen out;
  out.drawn = drawn;
  out.played = ground.played;
  out.heard = ground.ear.hear(drawn);
  if (const auto state = ground.space.state(drawn)) {
    const int count = static_cast<int>(drawn.stops.count() + drawn.couplers.count());
    out.points = points(wish, count, ground.practice.against(state->linking, state->stops), out.heard.phons,
                        out.heard.acums, ground.played);
  }
  for (std::size_t i = 0; i < all.size(); ++i) {
    const Registration& moved = heard[i + 1];
    Neighbour n;
    n.knob = all[i];
    n.drawn = is_drawn(drawn, all[i]);
    n.difference = ground.ear.most(drawn, moved);
    n.phons = ground.ear.hear(moved).phons - out.heard.phons;
    n.acums = ground.ear.hear(moved).acums - out.heard.acums;
    out.neighbours.push_back(n);
  }
  const Registration* other_box = &heard[all.size() + 1];
  out.box_reserve = ground.ear.hear(*other_box).phons - out.heard.phons;
  // A box in which nothing speaks stands open: so it is nothing to be told.
  for (std::size_t b = 0; b < organ().boxes.size(); ++b) {
    if (ground.ear.hear(*++other_box).phons == out.heard.phons) out.drawn.box[b] = 1;
  }
  return out;
}

// What the screen found is heard in its order, as far as it could be better than the best heard so far: so every answer is
// the best of all that are left, as long as the screen is not more off than is
// taken here.
Result<bool> Chooser::walk(const Wish& wish, const Sifted& sifted, std::vector<Taken>& taken, const Work& work) {
  const auto better = [](const Taken& a, const Taken& b) {
    return a.points != b.points ? a.points < b.points : a.candidate < b.candidate;
  };
  std::set<Taken, decltype(better)> heard{better};
  const auto shares_too_much = [&](std::size_t ground, const Registration& drawn) {
    return std::any_of(taken.begin(), taken.end(), [&](const Taken& t) {
      return t.ground == grounds_[ground].get() && overlap(t.drawn, drawn) > apart;
    });
  };
  const double screen_points = screen_level_points + (wish.colour == Colour::any ? 0 : screen_colour_points);
  auto next = sifted.found.begin();
  int in_vain = 0;
  const auto hear_next = [&] {
    const auto end = next + std::min(heard_at_once, sifted.found.end() - next);
    for (std::size_t g = 0; g < grounds_.size(); ++g) {
      Ground& ground = *grounds_[g];
      std::vector<Registration> mine;
      std::vector<const Candidate*> of;
      for (auto c = next; c != end; ++c) {
        if (c->ground != g) continue;
        Registration boxes;
        boxes.box = c->box;
        const Registration drawn = ground.space.registration(c->linking, c->stops, boxes);
        if (shares_too_much(g, drawn) || !worth_knowing(wish, taken, ground, c->linking, c->stops)) continue;
        mine.push_back(drawn);
        of.push_back(&*c);
      }
      in_vain += static_cast<int>(mine.size());
      ground.ear.hear_all(mine, work);
      if (work.stop.stop_requested()) return;
      for (std::size_t i = 0; i < mine.size(); ++i) {
        const HeardOn& h = ground.ear.hear(mine[i]);
        if (std::abs(h.phons - wish.level.value()) > wish.band) continue;
        const int count = ground.linking(of[i]->linking).knobs + std::popcount(of[i]->stops);
        const PracticeAgainst against = ground.practice.against(of[i]->linking, of[i]->stops);
        const double sum = points(wish, count, against, h.phons, h.acums, ground.played).sum();
        heard.insert({&ground, *of[i], mine[i], sum});
      }
    }
    next = end;
  };
  while (static_cast<int>(taken.size()) < wish.limit && !sifted.found.empty()) {
    if (work.stop.stop_requested()) return fail("stopped before the registrations were compared");
    if (in_vain > (taken.empty() ? wish.patience : sifted.searched ? heard_after_a_search : heard_for_another))
      return true;
    const bool heard_all = next == sifted.found.end();
    const double none_under = heard_all && sifted.all
                                  ? std::numeric_limits<double>::infinity()
                                  : (heard_all ? sifted.found.back() : *next).points - screen_points;
    if (heard.empty() || heard.begin()->points > none_under) {
      if (heard_all) break;
      hear_next();
      continue;
    }
    const Taken best = std::move(heard.extract(heard.begin()).value());
    Ground& ground = *best.ground;
    const bool alike = shares_too_much(best.candidate.ground, best.drawn) ||
                       !worth_knowing(wish, taken, ground, best.candidate.linking, best.candidate.stops) ||
                       std::any_of(taken.begin(), taken.end(), [&](const Taken& t) {
                         return t.ground == &ground && ground.ear.most(t.drawn, best.drawn) < Difference::audible;
                       });
    if (alike || !every_knob_is_heard(ground, wish, best.drawn, work)) continue;
    if (wish.fits && !wish.fits(best.drawn)) continue;
    taken.push_back(best);
    in_vain = 0;
  }
  return false;
}

Result<Chooser::Found> Chooser::find(const Wish& wish, const Work& work) {
  Found out;
  std::vector<Allowed> allowed(grounds_.size());
  for (std::size_t keep = first_kept;;) {
    const auto sifted = candidates(wish, out.taken, keep, allowed, work);
    if (!sifted) return tl::unexpected(sifted.error());
    out.considered = sifted->considered;
    const std::size_t before = out.taken.size();
    const auto gave_up = walk(wish, *sifted, out.taken, work);
    if (!gave_up) return tl::unexpected(gave_up.error());
    const bool another = out.taken.size() > before;
    if (static_cast<int>(out.taken.size()) >= wish.limit || *gave_up) break;
    if (sifted->searched ? !another : sifted->all) break;
    if (another) continue;
    if (keep >= (out.taken.empty() ? most_kept : more_kept)) break;
    keep *= 6;
  }
  out.acums.resize(brightness_bins);
  for (const Allowed& a : allowed) {
    for (std::size_t i = 0; i < a.acums.size(); ++i) out.acums[i] += a.acums[i];
  }
  return out;
}

Result<Choice> Chooser::ask(const Wish& wish, const Work& work) {
  auto found = look(wish, work);
  if (!found) return tl::unexpected(found.error());
  if (!*found) return tl::unexpected(nothing_fits(wish, work));
  return std::move(**found);
}

Result<std::optional<Choice>> Chooser::look(const Wish& wish, const Work& work) {
  if (wish.limit < 1 || wish.limit > 50) {
    return fail(fmt::format("{} answers are asked for; between 1 and 50 can be given", wish.limit));
  }
  const auto found = find(wish, work);
  if (!found) return tl::unexpected(found.error());
  if (found->taken.empty()) return std::optional<Choice>{};
  Choice out;
  out.searched = !mapped();
  out.considered = found->considered;
  const double at_this_level = std::accumulate(found->acums.begin(), found->acums.end(), 0.0);
  for (const Taken& t : found->taken) {
    Chosen& chosen = out.answers.emplace_back(describe(*t.ground, wish, t.drawn, work));
    if (at_this_level < 10) continue;
    const auto mine = found->acums.begin() + static_cast<std::ptrdiff_t>(brightness_bin(chosen.heard.acums));
    chosen.brighter_than = std::accumulate(found->acums.begin(), mine, 0.0) / at_this_level;
  }
  if (work.stop.stop_requested()) return fail("stopped before the registrations were compared");
  out.at_least = bound(wish, work);
  return out;
}

}  // namespace calcant
