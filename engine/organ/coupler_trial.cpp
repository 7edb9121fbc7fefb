#include "engine/organ/coupler_trial.hpp"

#include <algorithm>

#include "engine/organ/sounding.hpp"

namespace calcant {
namespace {

bool contains(const std::vector<CouplerIndex>& list, CouplerIndex c) {
  return std::find(list.begin(), list.end(), c) != list.end();
}

std::vector<PipeId> members(const PipeSet& set) {
  std::vector<PipeId> out;
  for (std::size_t r = 0; r < set.ranks.size(); ++r) {
    for (const int n : set.ranks[r]) out.push_back({static_cast<RankIndex>(r), n});
  }
  return out;
}

// What sounds with these two couplers and this stop drawn, the first carrying the second or not.
std::vector<PipeId> heard(Organ organ, const CouplerTrial& t, bool carried) {
  std::vector<CouplerIndex>& carries = organ.couplers[static_cast<std::size_t>(t.first)].carries;
  carries.erase(std::remove(carries.begin(), carries.end(), t.second), carries.end());
  if (carried) carries.push_back(t.second);
  Registration drawn;
  drawn.stops.set(static_cast<std::size_t>(t.stop));
  drawn.couplers.set(static_cast<std::size_t>(t.first));
  drawn.couplers.set(static_cast<std::size_t>(t.second));
  KeysDown down;
  down.keys[static_cast<std::size_t>(t.keyboard)].insert(t.key.midi);
  PipeSet pipes;
  Sounding{organ}.pipes(drawn, down, pipes);
  return members(pipes);
}

}  // namespace

std::vector<CouplerTrial> coupler_trials(const Organ& organ) {
  const auto pedal = [&](KeyboardIndex k) { return organ.keyboards[static_cast<std::size_t>(k)].pedal; };
  // The first pair of couplers, and the first plain 8 ft stop, that can show one kind of passing through.
  const auto find = [&](bool from_pedal, int second_semitones, std::vector<CouplerTrial>& out) {
    for (std::size_t a = 0; a < organ.couplers.size(); ++a) {
      const Coupler& first = organ.couplers[a];
      if (first.unison_off || first.semitones != 0 || pedal(first.from) != from_pedal) continue;
      for (std::size_t b = 0; b < organ.couplers.size(); ++b) {
        const Coupler& second = organ.couplers[b];
        const Keyboard& middle = organ.keyboards[static_cast<std::size_t>(second.from)];
        const bool leads_on = middle.division == first.to && second.from != first.from;
        const bool changes = second.semitones != 0 || second.to != first.to;
        if (a == b || second.unison_off || second.semitones != second_semitones || !leads_on || !changes) continue;
        for (std::size_t s = 0; s < organ.stops.size(); ++s) {
          const Stop& stop = organ.stops[s];
          const bool plain = stop.feet.size() == 1 && stop.feet[0] == Feet{} && !stop.celeste && !stop.out_of_use;
          if (stop.division != second.to || !plain) continue;
          CouplerTrial t{static_cast<CouplerIndex>(a),
                         static_cast<CouplerIndex>(b),
                         static_cast<StopIndex>(s),
                         first.from,
                         from_pedal ? Note{36} : middle_c,
                         {},
                         {},
                         false,
                         first.tried || contains(first.heard, static_cast<CouplerIndex>(b))};
          t.if_not_carried = heard(organ, t, false);
          t.if_carried = heard(organ, t, true);
          t.assumed_carried = contains(first.carries, t.second);
          if (t.if_carried == t.if_not_carried) continue;
          out.push_back(std::move(t));
          return;
        }
      }
    }
  };
  std::vector<CouplerTrial> trials;
  find(false, 12, trials);
  find(true, 0, trials);
  find(false, -12, trials);
  return trials;
}

}  // namespace calcant
