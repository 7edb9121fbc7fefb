// The registration map's screen against the full model on random registrations of one organ: for its tests and its
// benchmark, and for nothing else.
#pragma once

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include "engine/quantity/random.hpp"
#include "engine/registration/map.hpp"

namespace calcant {

struct ScreenCheck {
  int states = 0;
  double worst = 0;  // of loudness in sone, as a share
  double rms = 0;
  double worst_bright = 0;
  double worst_phons = 0;
  std::string refused;  // why a chord could not be used, the last such
  std::string at;       // where the worst is: linking, stops, keys
};

// Chords of 1 to 10 keys, up to two of them in the pedal, half of the manual's keys on a second manual now and then; all
// couplers, any stops, the boxes where they can rest. `per_chord` states on each chord.
inline ScreenCheck check_screen(const Organ& organ, int chords, int per_chord, std::uint64_t seed) {
  const Listening nave{organ, usual_condition(organ)};
  const Ear fine;
  const auto boxes = box_positions(organ);
  ScreenCheck out;
  double squares = 0;
  for (int c = 0; c < chords; ++c) {
    Random random{seed, static_cast<std::uint64_t>(c)};
    KeysDown down;
    const int keys = 1 + c % 10;
    const int pedals = std::min(keys - 1, random.below(3));
    const int lowest = 36 + random.below(24);
    std::vector<std::size_t> manuals;
    std::optional<std::size_t> pedal;
    for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
      if (organ.keyboards[k].pedal) pedal = k;
      else manuals.push_back(k);
    }
    const std::size_t main = manuals[static_cast<std::size_t>(random.below(static_cast<int>(manuals.size())))];
    const std::size_t other = manuals[static_cast<std::size_t>(random.below(static_cast<int>(manuals.size())))];
    for (int i = 0; i < keys; ++i) {
      const std::size_t on = i < pedals && pedal ? *pedal : i % 2 == 0 ? main : other;
      for (int tries = 0; tries < 50; ++tries) {
        const int key = pedal && on == *pedal ? 36 + random.below(30) : lowest + random.below(36);
        if (!organ.keyboards[on].keys.contains(key) || down.keys[on].contains(key)) continue;
        down.keys[on].insert(key);
        break;
      }
    }
    const KeysDown one[] = {down};
    // Six couplers at a time, so that their settings stay few; over all chords every one has its turn.
    Registration forbidden;
    for (std::size_t k = 0; k < organ.couplers.size(); ++k) forbidden.couplers.set(k);
    for (int k = 0; k < 6 && !organ.couplers.empty(); ++k)
      forbidden.couplers.reset(static_cast<std::size_t>(random.below(static_cast<int>(organ.couplers.size()))));
    const auto space = Space::make(organ, one, forbidden);
    if (!space) {
      out.refused = space.error().message;
      continue;
    }
    auto patterns = Patterns::make(*space, nave, 0);
    if (!patterns) return out;
    std::size_t linking = 0;
    BoxPositions box{};
    std::vector<const Pattern*> groups;
    for (int s = 0; s < per_chord; ++s) {
      if (s % 5 == 0) {  // groups take longest: five states with the couplers and boxes so
        linking = static_cast<std::size_t>(random.below(static_cast<int>(space->linkings().size())));
        box = boxes[static_cast<std::size_t>(random.below(static_cast<int>(boxes.size())))];
        auto made = patterns->groups(linking, box);
        if (!made) return out;
        groups = std::move(*made);
      }
      const double density = random.uniform(0.05, 1);
      StopMask stops = 0;
      for (std::size_t i = 0; i < space->stops().size(); ++i)
        if (random.uniform() < density) stops |= StopMask{1} << i;
      Pattern sum;
      PipeSet pipes;
      pipes.ranks.resize(organ.ranks.size());
      const auto& parts = space->linkings()[linking].groups[0];
      for (std::size_t g = 0; g < parts.size(); ++g) {
        if ((parts[g].stops & stops) == 0) continue;
        sum += *groups[g];
        for (const PipeId p : parts[g].pipes) pipes.ranks[static_cast<std::size_t>(p.rank)].insert(p.number);
      }
      if (pipes.size() == 0) continue;
      Registration drawn;
      drawn.box = box;
      const auto full = fine.hear(condensed(nave.lines(pipes, drawn), Cents{1}));  // a full organ has too many
      if (!full) return out;
      const Screened quick = patterns->screen().screen(sum);
      const double off = quick.sones / full->loudness.sones.value() - 1;
      ++out.states;
      squares += off * off;
      out.worst_bright = std::max(out.worst_bright, std::abs(quick.acums / full->brightness.value() - 1));
      out.worst_phons = std::max(out.worst_phons, std::abs(quick.phons - full->loudness.phons.value()));
      if (std::abs(off) <= out.worst) continue;
      out.worst = std::abs(off);
      out.at = "chord " + std::to_string(c) + " of " + std::to_string(keys) + " keys, linking " +
               std::to_string(linking) + ", " + std::to_string(pipes.size()) + " pipes";
    }
  }
  out.rms = out.states > 0 ? std::sqrt(squares / out.states) : 0;
  return out;
}

}  // namespace calcant
