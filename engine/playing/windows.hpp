// Free hands: when a hand may leave the keys, for how long, and whether that is long enough for this player.
//
// A hand is free while it has nothing to play, or while the other hand holds or takes its notes: five keys at most,
// within the other hand's span (what it must strike, within what it spans at ease), both on one manual, and no two beginnings nearer than `easy_onsets` while one hand plays
// for two. Notes that the feet play on the same key may be left to them. Everything is counted from the presses.
// check.hpp asks the same question again by another way.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/playing/feet.hpp"
#include "engine/playing/player.hpp"
#include "engine/score/score.hpp"

namespace calcant {

[[nodiscard]] std::string_view word(Hand h);  // "left"
[[nodiscard]] constexpr Hand other(Hand h) { return h == Hand::left ? Hand::right : Hand::left; }

using Span = std::pair<Rational, Rational>;  // performed quarters, from and to

// One hand plays for two only where beginnings are at least so far apart (assumed).
inline constexpr Seconds easy_onsets{0.5};
inline constexpr int keys_in_a_hand = 5;

// What about the performance is not in the score.
struct Playing {
  Rational gap_after;                // silence after the end before the next verse begins: both hands are free in it
  std::vector<Span> apart;           // while the hands are on different manuals neither can take the other's notes
  std::vector<Rational> page_turns;  // where a page must be turned, performed quarters
};

// In order of ease.
enum class WindowKind { rest, held_by_other, taken_by_other };
[[nodiscard]] std::string_view word(WindowKind k);  // "rests", "the other hand holds", "the other hand takes"

struct Window {
  Hand hand = Hand::left;
  WindowKind kind = WindowKind::rest;  // the hardest that occurs in it
  Rational from;                       // performed quarters
  Rational to;
  Seconds seconds;                 // from `from` to `to`, less a page turn in it that the player must see to
  Moment moment;                   // of `from`
  bool page_turn = false;          // such a turn is in it
  std::vector<Span> other_needed;  // while the other hand plays for this one and cannot go itself
};

// Every longest window of each hand: those of rests alone, those in which the other hand also holds, and those in which
// it also takes; where two are the same only the easier is given. Shorter than `least` are left out. By from, hand, to.
[[nodiscard]] std::vector<Window> windows(const Score& score, const Player& player, const Tempo& tempo,
                                          const Playing& playing = {}, Seconds least = Seconds{0.5});

// Whether a hand reaches a knob on that side: its own jamb and over the manuals; an unknown side is taken as reached.
[[nodiscard]] constexpr bool reaches(Hand h, Jamb side) {
  return side == Jamb::over_manual || side == Jamb::unknown || (h == Hand::left) == (side == Jamb::left);
}
// How many knobs fit into so many seconds; 0 when not one does.
[[nodiscard]] int knobs_within(const Player& p, Seconds available);

// When a foot holds no key, for composition pedals, reversers and the swell pedal: longest spans from the beginning to
// the end of the performance, by foot (index = Foot) and time.
[[nodiscard]] std::array<std::vector<Span>, 2> free_feet(const Score& score, const Pedalling& pedalling);

// A movement of a swell pedal, and what it books the right foot for. A balanced pedal stays where it is left. A lever
// rests only at its hitches: left anywhere else it must be held until a later movement brings it to one, or to the end.
struct BoxMove {
  Rational from;
  Rational to;
  double opening = 0;  // where it ends: 0 shut, 1 open
};
// `moves` by time, not overlapping; `end`: of the performance.
[[nodiscard]] std::vector<BusyFoot> foot_for_box(const SwellBox& box, const std::vector<BoxMove>& moves, Rational end);

}  // namespace calcant
