// What a plan is judged by, in one currency: 1 is a verse 1.2 phon beyond what is near enough to its level. All of it
// is written down, with the rules of practice it stands for, in docs/design/plan.md. Costs are never negative; what
// cannot be carried out or must not be is infinity.
#pragma once

#include <optional>

#include "engine/plan/moves.hpp"
#include "engine/plan/verse.hpp"
#include "engine/plan/vocabulary.hpp"

namespace calcant {

// What one section wants.
struct Aim {
  Phons target;
  Phons floor;         // what singers are taken for at least; 0: nobody is led
  double share = 0.5;  // how far up the range, 0 to 1: what the target was made from
  double colour = 0;   // -1 darker than usual for the level, 0 no matter, +1 brighter
  double step = 0;     // said of what goes before: +1 louder, -1 softer; 0: nothing said of it
  bool led = false;    // a chorus that leads: 8 and 4 on the leading manual (R36)
  // Phon that are near enough, and phon beyond that count as 1: finer for verses than for dynamics, which say louder and
  // softer and not how loud.
  double near_enough = 0.8;
  double unit = 1.2;
  bool of_the_hands = false;           // the level is what the hands play: a bass belongs to it and never makes it
  bool tune_alone = false;             // on a solo stop: no foundation is asked for
  std::optional<KeyboardIndex> right;  // the copy sends the hands there
  std::optional<KeyboardIndex> left;
};
[[nodiscard]] double own_cost(const Aim& aim, const Shade& s);

// What is asked of mixtures and reeds by a verse's word and is not so.
[[nodiscard]] double unasked_stops(const StopsAsked& asked, const Shade& s);

// Where a change stands.
enum class Step {
  between_sections,  // of one piece or hymn
  between_verses,    // of a psalm: quieter hands
  at_rests,          // of a piece from paper: as far as is known there is time
  between_items      // at leisure
};
// Without what the change lacks in time: too_late_cost().
[[nodiscard]] double step_cost(const KnobCount& knobs, Step where, bool other_keyboards);
// Getting louder by putting stops in, or softer by drawing them, is never wanted (R4): for each such knob. `rise` is how
// much louder the second is meant to be than the first, phon.
[[nodiscard]] double crossways_cost(const Registration& from, const Registration& to, double rise);
// The same by how many stops are put in and how many drawn.
[[nodiscard]] double crossways_cost(int put_in, int drawn, double rise);
// Where the music asks for louder or softer, it is to be heard: what is missing of an audible step. `wanted` and `had`: how
// much louder the second is meant to be and is, phon.
[[nodiscard]] double contrast_cost(double wanted, double had);
// A word that wants another sound than what goes before is to be heard: how much is missing of an audible step the way it
// goes, in level or in colour; 0 where all is heard or nothing is wanted, 1 where nothing is. `least`: phon that count as
// wanted.
[[nodiscard]] double unheard(const Aim& before, const Aim& aim, const Shade& from, const Shade& to, double least);
inline constexpr double answer_meant = 0.5;  // of what answers: the second half of a psalm's verse, or "softer"; phon
inline constexpr double verse_meant = 2.0;   // of a verse, phon
inline constexpr double answer_not_heard = 2.0;  // what it costs
// A change that its time is too short for: a helper is asked for before the music goes without.
[[nodiscard]] double too_late_cost(Seconds lacking, Step where);

// A move the user has fixed that would have nothing to do: for each, of the registration before it.
inline constexpr double idle_change = 3.0;

// The last verse of a hymn is not softer than the one before it (R39): for each phon.
inline constexpr double last_verse_softer = 2.0;

}  // namespace calcant
