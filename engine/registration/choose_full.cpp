// Full, as a player means it: everything that is heard.
#include <algorithm>
#include <map>
#include <optional>
#include <span>

#include "engine/registration/choose_parts.hpp"
#include "engine/registration/equals.hpp"

namespace calcant {
namespace {

constexpr double about_phons = 0.5;  // ChordEar::about is no further off than this
constexpr std::size_t heard_at_once = 16;

// What a player would put in first where two hide one another: flutes and strings, then what is coupled; the chorus and the
// reeds of the manual itself last, and the couplers after them.
int standing(const Organ& organ, KeyboardIndex on, Knob knob) {
  if (knob.kind == Knob::Kind::coupler) return 4;
  const auto at = static_cast<std::size_t>(knob.index);
  const Stop& s = organ.stops[at];
  if (s.mixture_ranks == 0 && s.family != Family::principal && s.family != Family::reed) return 1;
  return s.division == organ.keyboards[static_cast<std::size_t>(on)].division ? 3 : 2;
}

}  // namespace

Registration beyond_full(const Organ& organ) {
  Registration out;
  for (std::size_t s = 0; s < organ.stops.size(); ++s) {
    out.stops.set(s, organ.stops[s].celeste || is_keen(organ.stops[s]));
  }
  for (std::size_t c = 0; c < organ.couplers.size(); ++c) {
    out.couplers.set(c, organ.couplers[c].unison_off || organ.couplers[c].semitones != 0);
  }
  return out;
}

// Knobs that nobody would miss are put in, those of the least standing first, until each that is left is heard; then
// what can still be drawn or exchanged for more sound, every knob heard as before, is.
Result<Chosen> Chooser::everything(const Wish& wish, const Work& work) {
  Ground& ground = *grounds_.front();
  const auto limits = ground.limits(wish);
  const Registration beyond = beyond_full(organ());
  std::vector<Knob> out_of;
  const auto consider = [&](Knob k) {
    if (is_drawn(wish.must, k) || (!is_drawn(beyond, k) && !is_drawn(wish.must_not, k))) out_of.push_back(k);
  };
  for (const StopIndex s : ground.space.stops()) consider({Knob::Kind::stop, s});
  for (const CouplerIndex c : ground.space.couplers()) consider({Knob::Kind::coupler, c});

  Registration drawn;
  drawn.box.fill(1);
  for (const Knob k : out_of) set_drawn(drawn, k, true);
  const auto asked = [&](Knob k) { return is_drawn(wish.must, k); };
  // What goes first, of those that would not be missed.
  const auto least_missed = [&](const Registration& r) -> std::optional<Knob> {
    std::map<int, std::vector<Knob>> by_standing;
    for (const Knob k : knobs(organ(), r)) {
      if (!asked(k)) by_standing[standing(organ(), on_, k)].push_back(k);
    }
    for (const auto& [_, mine] : by_standing) {
      std::vector<Registration> less;
      for (const Knob k : mine) set_drawn(less.emplace_back(r), k, false);
      ground.ear.hear_all(less, work);
      std::optional<std::pair<double, Knob>> out;
      for (std::size_t i = 0; i < mine.size() && !work.stop.stop_requested(); ++i) {
        if (ground.ear.most(less[i], r) >= Difference::audible) continue;
        const double goes = ground.ear.hear(r).phons - ground.ear.hear(less[i]).phons;
        if (!out || goes < out->first) out = {goes, mine[i]};
      }
      if (out) return out->second;
    }
    return std::nullopt;
  };
  while (const auto knob = least_missed(drawn)) set_drawn(drawn, *knob, false);

  const Equals equals{ground.space, limits.must, limits.must_not, limits.linkings};
  const auto allowed = [&](const Registration& r) {
    const auto state = ground.space.state(r);
    return state && equals.stands(*state) && ground.practice.allows(state->linking, state->stops, wish.manner);
  };
  const auto full = [&](const Registration& r) { return allowed(r) && every_knob_is_heard(ground, wish, r, work); };
  // One more knob, or one for another that makes it louder. An exchange is heard where it could: what it excites is taken
  // to be what the knob put in takes away and the other adds.
  const auto better = [&]() -> std::optional<Registration> {
    std::vector<Registration> more;
    std::vector<std::pair<Knob, Knob>> exchanges;  // in, out
    for (const Knob k : out_of) {
      if (is_drawn(drawn, k)) continue;
      set_drawn(more.emplace_back(drawn), k, true);
      for (const Knob gone : knobs(organ(), drawn)) {
        if (!asked(gone) && standing(organ(), on_, k) >= standing(organ(), on_, gone)) exchanges.emplace_back(k, gone);
      }
    }
    ground.ear.hear_all(more, work);
    for (const Registration& r : more) {
      if (full(r)) return r;
    }
    const double now = ground.ear.hear(drawn).phons;
    std::vector<Registration> other;
    for (const auto& [k, gone] : exchanges) {
      Registration with = drawn;
      set_drawn(with, k, true);
      Registration without = drawn;
      set_drawn(without, gone, false);
      if (work.stop.stop_requested()) return std::nullopt;
      if (ground.ear.about(drawn, with, without) < now - about_phons) continue;
      set_drawn(other.emplace_back(with), gone, false);
    }
    for (std::size_t first = 0; first < other.size(); first += heard_at_once) {
      const auto these = std::span{other}.subspan(first, std::min(heard_at_once, other.size() - first));
      ground.ear.hear_all(these, work);
      for (const Registration& r : these) {
        if (work.stop.stop_requested()) return std::nullopt;
        if (ground.ear.hear(r).phons > now && full(r)) return r;
      }
    }
    return std::nullopt;
  };
  while (const auto next = better()) drawn = *next;
  if (work.stop.stop_requested()) return fail("stopped before the registrations were compared");
  if (!allowed(drawn)) return fail("practice does not allow everything at once here");
  return describe(ground, wish, drawn, work);
}

}  // namespace calcant
