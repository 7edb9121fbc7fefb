#include "engine/plan/lower_hand.hpp"

#include <algorithm>

#include "engine/plan/chorus.hpp"

namespace calcant {
namespace {

// Without what the pedals have: what stays drawn under feet that rest is no matter.
Registration without_pedals(const Organ& organ, Registration drawn) {
  const auto pedals = pedalboard(organ);
  if (!pedals) return drawn;
  const DivisionIndex home = organ.keyboards[static_cast<std::size_t>(*pedals)].division;
  for (std::size_t s = 0; s < organ.stops.size(); ++s) {
    if (organ.stops[s].division == home) drawn.stops.reset(s);
  }
  for (std::size_t c = 0; c < organ.couplers.size(); ++c) {
    if (organ.couplers[c].from == *pedals) drawn.couplers.reset(c);
  }
  return drawn;
}

}  // namespace

bool left_is_lower(const std::vector<Chord>& chords) {
  int left = 0;
  int right = 0;
  for (const Chord& c : chords) {
    if (c.left.empty() && c.right.empty()) continue;
    const bool below = !c.left.empty() && (c.right.empty() || c.left.lowest() <= c.right.lowest());
    ++(below ? left : right);
  }
  return left >= right;
}

std::optional<KeyboardIndex> lower_hand(const HandsAndFeet& on, bool left_is_lower) {
  return left_is_lower ? (on.left ? on.left : on.right) : (on.right ? on.right : on.left);
}

bool pedals_have_sixteen(const Organ& organ) {
  const auto pedals = pedalboard(organ);
  if (!pedals) return false;
  const DivisionIndex home = organ.keyboards[static_cast<std::size_t>(*pedals)].division;
  return std::any_of(organ.stops.begin(), organ.stops.end(), [&](const Stop& s) {
    const bool sixteen = std::any_of(s.feet.begin(), s.feet.end(), [](const auto& f) { return f.semitones() == -12; });
    return !s.out_of_use && sixteen && (s.division == home || unison_coupler(organ, *pedals, s.division, {}));
  });
}

std::vector<Advice> advice_on(const Organ& organ, Scales& scales, const Registration& drawn, const HandsAndFeet& on,
                              Use together) {
  Occasion occasion;
  occasion.on = on.right.value_or(on.left.value_or(0));
  const bool apart = on.right && on.left && on.right != on.left;
  occasion.use = apart ? Use::solo : together;
  const bool left = left_is_lower(scales.chords());
  if (apart) occasion.bass_on = lower_hand(on, left);
  if (!on.feet) return advise(organ, without_pedals(organ, drawn), occasion);
  occasion.manual = !apart ? scales.hands(drawn, on)
                    : left ? scales.all(drawn, {{}, on.left, {}})
                           : scales.all(drawn, {on.right, {}, {}});
  occasion.pedal = scales.feet(drawn, on);
  std::vector<Advice> out = advise(organ, drawn, occasion);
  if (!pedals_have_sixteen(organ))
    std::erase_if(out, [](const Advice& a) { return a.rule == "R36" && a.weight == Weight::advice; });
  return out;
}

}  // namespace calcant
