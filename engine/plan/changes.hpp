// When, in a piece, the knobs of a change can be moved: right before it, earlier while they cannot be heard, later once they
// no longer can.
//
// A knob that makes no difference to what sounds (a stop of a manual that is not played, a coupler from it) may be moved
// in any window of the passage before, in its second half, or of the passage after, in its first half; the halves keep
// the changes at both ends of a passage out of one another's way. What is heard is moved in the window that ends where the
// new passage begins. Windows are those of engine/playing/windows.hpp.
#pragma once

#include <array>
#include <vector>

#include "engine/organ/sounding.hpp"
#include "engine/plan/moves.hpp"
#include "engine/plan/passages.hpp"
#include "engine/playing/windows.hpp"

namespace calcant {

// Which knobs are heard when they are moved in a state.
struct Heeded {
  Jambs::Stops stops;
  Jambs::Couplers couplers;
  std::array<bool, max_boxes> boxes{};
};
[[nodiscard]] Heeded heeded(const Organ& organ, Sounding& sounding, const Registration& drawn, const HandsAndFeet& on);

enum class Trip { early, there, late };

// One hand's time for one kind of trip; from == to: none.
struct HandTime {
  Rational from;
  Rational to;
  Seconds seconds;
  int knobs = 0;  // that fit
};

// What is free round the beginning of one passage.
struct Chance {
  // By Trip and Hand: with the other hand playing for this one, and without its help (both may then go at once).
  std::array<std::array<HandTime, 2>, 3> helped;
  std::array<std::array<HandTime, 2>, 3> alone;
  HandTime foot;  // the right foot's, up to the beginning; of a hairpin, throughout it
  bool hairpin = false;
};

// A trip of one hand, or of a helper, with its knobs.
struct HandTrip {
  Trip trip = Trip::there;
  Mover mover = Mover::helper;
  std::vector<Knob> draw;
  std::vector<Knob> put_in;
  HandTime time;  // not a helper's
};

// The chances at the beginnings of all passages (the first is empty: before the piece there is time).
[[nodiscard]] std::vector<Chance> chances(const Score& score, const std::vector<Passage>& passages,
                                          const std::vector<Window>& windows, const std::vector<Span>& right_foot,
                                          const Player& player, const Tempo& tempo);

// Knobs of a change by when they may be moved.
struct Sorted {
  KnobCount heard;  // in the window right before only
  KnobCount early;  // earlier too
  KnobCount late;   // later too
  KnobCount any;
};
[[nodiscard]] Sorted sorted_knobs(const Jambs& jambs, const Registration& from, const Heeded& then,
                                  const Registration& to, const Heeded& next);

// How many of these knobs no window has room for.
[[nodiscard]] int without_a_window(const Sorted& knobs, const Chance& chance);
// The trips that carry the change out; what no window has room for is a helper's.
[[nodiscard]] std::vector<HandTrip> trips(const Organ& organ, const Registration& from, const Heeded& then,
                                          const Registration& to, const Heeded& next, const Chance& chance);

}  // namespace calcant
