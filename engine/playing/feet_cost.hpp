// What makes one way of taking the pedals dearer than another: the terms of the cost, and their weights.
//
// The cost of a whole part is the sum over its notes of weight x term; the search (feet_search.hpp) finds the least.
// Each term is something a teacher would say aloud. Weights are in units of "one awkwardness"; where they come from is
// told in docs/accuracy/feet.md.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <string_view>
#include <vector>

#include "engine/playing/pedalboard.hpp"
#include "engine/quantity/rational.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

enum class FeetTerm : std::uint8_t {
  heel,          // a heel where a toe would do
  third,         // joining two keys by heel and toe of one foot: each semitone beyond a whole tone
  twist,         // ... the toe pointing inward: right toe to the left of its heel, or left to the right, in naturals
  slide,         // joining two keys by sliding one toe or heel
  lift,          // one foot leaving a key at once for another that it cannot join
  lift_far,      // ... each natural of that leap
  hop,           // the same foot again, after a rest, on another key
  other_foot,    // changing feet on a repeated key
  other_part,    // changing toe for heel of one foot on a repeated key
  travel,        // a free foot's way to its key, in naturals
  hurry,         // ... naturals beyond what the time allows at ease
  cross,         // right foot to the left of the left foot: once, and a half more for each natural
  side,          // naturals over the middle: the left foot to the right of it, or the right to the left
  substitution,  // changing on a held key
  two_keys,      // one foot holding two keys
  early,         // letting go a key that should still sound
  not_free,      // a foot that is wanted elsewhere
  count
};
inline constexpr std::size_t feet_terms = static_cast<std::size_t>(FeetTerm::count);
[[nodiscard]] std::string_view word(FeetTerm t);
// Awkwardnesses a pedal part may cost more so that the right foot has the swell box.
inline constexpr double awkward_for_the_box = 60;

using FeetWeights = std::array<double, feet_terms>;
[[nodiscard]] FeetWeights default_feet_weights();

// One press of a pedal key as the search sees it.
struct PedalNote {
  Note key;
  Rational start;  // written quarters
  Rational end;
  Seconds from;  // the same in seconds, at the tempo or the one assumed
  Seconds to;
  bool left_free = true;  // the left foot may take it
  bool right_free = true;
};

enum class Foot : std::uint8_t { left, right };
enum class FootPart : std::uint8_t { toe, heel };

}  // namespace calcant
