#include "engine/plan/lower_hand.hpp"

namespace calcant {

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

Occasion occasion_of(Scales& scales, const Registration& drawn, const HandsAndFeet& on, Use together) {
  Occasion occasion;
  occasion.on = on.right.value_or(on.left.value_or(0));
  const bool apart = on.right && on.left && on.right != on.left;
  occasion.use = apart ? Use::solo : together;
  const bool left = left_is_lower(scales.chords());
  if (apart) occasion.bass_on = lower_hand(on, left);
  if (!on.feet) return occasion;
  occasion.manual = !apart ? scales.hands(drawn, on)
                    : left ? scales.all(drawn, {{}, on.left, {}})
                           : scales.all(drawn, {on.right, {}, {}});
  occasion.pedal = scales.feet(drawn, on);
  return occasion;
}

}  // namespace calcant
