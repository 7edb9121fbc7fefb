#include "jobs/pedal_under.hpp"

#include <algorithm>
#include <vector>

#include "engine/plan/chorus.hpp"
#include "engine/plan/pedal_fit.hpp"

namespace calcant {
namespace {

constexpr double a_knob = 0.1;
constexpr std::size_t most_stops = 3;

// `now` with every choice of them up to `most_stops` in all, none among them, in the order of the jamb.
void choices(const std::vector<StopIndex>& of, std::size_t from, Registration& now, std::vector<Registration>& out) {
  out.push_back(now);
  if (now.stops.count() >= most_stops) return;
  for (std::size_t i = from; i < of.size(); ++i) {
    now.stops.set(static_cast<std::size_t>(of[i]));
    choices(of, i + 1, now, out);
    now.stops.reset(static_cast<std::size_t>(of[i]));
  }
}

// Its 16 ft flues alone.
Registration sixteen_feet(const Organ& organ, Registration own) {
  for (std::size_t s = 0; s < organ.stops.size(); ++s) {
    if (own.stops.test(s)) own.stops.set(s, chorus_part(organ.stops[s]) == ChorusPart::sixteen);
  }
  return own;
}

}  // namespace

std::optional<PedalUnder> pedal_under(Scales& scales, const Registration& drawn, KeyboardIndex on,
                                      const Registration& must, const Registration& must_not) {
  const Organ& organ = scales.listening().organ();
  HandsAndFeet who;
  who.right = who.left = on;
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    if (organ.keyboards[k].pedal) who.feet = static_cast<KeyboardIndex>(k);
  }
  if (!who.feet) return std::nullopt;
  const DivisionIndex pedal = organ.keyboards[static_cast<std::size_t>(*who.feet)].division;
  std::vector<StopIndex> stops;
  for (std::size_t s = 0; s < organ.stops.size(); ++s) {
    if (organ.stops[s].division == pedal && !organ.stops[s].out_of_use && !must_not.stops.test(s) &&
        !must.stops.test(s))
      stops.push_back(static_cast<StopIndex>(s));
  }
  const PedalFit fit{organ, *who.feet, knobs(organ, must_not), Placing::together};
  // None, each by itself, and the hands' own with each of the others; to all of them those that must be drawn.
  std::vector<Registration> couplings(1);
  const auto own_coupler = fit.follows(who);
  for (const bool followed : {false, true}) {
    if (followed && !own_coupler) continue;
    Registration with;
    if (followed) couplings.emplace_back(with).couplers.set(static_cast<std::size_t>(*own_coupler));
    if (followed) with = couplings.back();
    for (std::size_t c = 0; c < organ.couplers.size(); ++c) {
      const Coupler& x = organ.couplers[c];
      const bool other = x.from == *who.feet && x.to != pedal && x.semitones == 0 && !x.unison_off;
      if (!other || must_not.couplers.test(c) || static_cast<CouplerIndex>(c) == own_coupler) continue;
      couplings.emplace_back(with).couplers.set(c);
    }
  }
  for (Registration& c : couplings) c.couplers |= must.couplers;
  std::vector<Registration> pedals;
  Registration none;
  none.stops = must.stops;
  none.box = drawn.box;
  choices(stops, 0, none, pedals);

  const Phons hands = scales.hands(drawn, who);
  // What the couplers bring by themselves; with the pedal's own it is not less than either.
  std::vector<Phons> brought;
  for (const Registration& c : couplings) {
    Registration coupled = drawn;
    coupled.couplers |= c.couplers;
    brought.push_back(scales.feet(coupled, who));
  }
  std::optional<Registration> best;
  double least = 0;
  for (const Registration& own : pedals) {
    const Phons own_level = own.stops.none() ? Phons{0} : scales.feet(own, who);
    const Registration basses = sixteen_feet(organ, own);
    const Phons sixteen = basses.stops.none() ? Phons{0} : scales.feet(basses, who);
    for (std::size_t c = 0; c < couplings.size(); ++c) {
      Registration knobs = own;
      knobs.couplers = couplings[c].couplers;
      Registration all = drawn;
      all.stops |= knobs.stops;
      all.couplers |= knobs.couplers;
      const double points = fit.against(all, who, {hands, std::max(own_level, brought[c]), own_level, sixteen}) +
                            a_knob * static_cast<double>(knobs.stops.count() + knobs.couplers.count());
      if (best && points >= least) continue;
      best = knobs;
      least = points;
    }
  }
  if (!best || (best->stops.none() && best->couplers.none())) return std::nullopt;
  Registration all = drawn;
  all.stops |= best->stops;
  all.couplers |= best->couplers;
  return PedalUnder{*best, hands, scales.feet(all, who)};
}

}  // namespace calcant
