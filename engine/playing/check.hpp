// Whether changes of stops can be carried out by these hands and feet: the question of windows.hpp and feet.hpp asked
// again by another way, from the written notes, so that a plan is never its own judge.
#pragma once

#include <string>
#include <vector>

#include "engine/playing/windows.hpp"

namespace calcant {

// A hand leaves the keys and moves knobs on one side (or over the manuals).
struct HandChange {
  Rational from;  // performed quarters
  Rational to;    // back on the keys
  Hand hand = Hand::left;
  Jamb side = Jamb::left;
  int knobs = 1;
};
// A foot leaves the pedals for a composition pedal or reverser, or moves or holds the swell pedal.
struct FootChange {
  Rational from;
  Rational to;
  Foot foot = Foot::right;
  bool accessory = true;  // needs the player's time for one; a swell pedal just its span
};

struct Breach {
  enum class Kind { empty_span, outside, wrong_side, too_short, hand_needed, hand_twice, foot_needed, foot_twice };
  Kind kind = Kind::hand_needed;
  Rational at;          // performed quarters
  std::string message;  // sentence
};
[[nodiscard]] std::string_view word(Breach::Kind k);

// Everything wrong, by time. A change made by the helper is none of the player's: leave it out.
[[nodiscard]] std::vector<Breach> check_changes(const Score& score, const Player& player, const Tempo& tempo,
                                                const Playing& playing, const std::vector<HandChange>& hands,
                                                const std::vector<FootChange>& feet = {},
                                                const Pedalling& pedalling = {});

}  // namespace calcant
