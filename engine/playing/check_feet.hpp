// Whether a pedalling can be carried out by two feet: asked of the finished marks alone, from the written notes, knowing
// nothing of the search or its costs. Facts only, no taste: a foot is in one place, keeps to the player's own rules, is not
// on the board while it is wanted elsewhere, and every note of the part has one mark.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/playing/feet.hpp"

namespace calcant {

struct FeetBreach {
  enum class Kind {
    unmarked,    // a note of the pedal part that nobody takes
    twice,       // two marks for one key at one time
    not_theirs,  // a mark on a note that the feet do not play, or with another key or time than the note's
    heel_on_sharp,
    style,         // a heel where toes were asked for, the right foot where the left was
    two_places,    // one foot on two keys it cannot hold together, and nothing says that one is let go
    booked,        // a foot on the board while it is wanted elsewhere, and nothing says so
    not_as_fixed,  // a mark the player fixed is not kept
    hidden_change  // a tied note is taken by another foot or part than before it, and the mark would not be printed
  };
  Kind kind = Kind::unmarked;
  NoteId note = 0;
  std::string message;  // a sentence
};
[[nodiscard]] std::string_view word(FeetBreach::Kind k);

// By written time. `wishes`: what solve_feet was asked for.
[[nodiscard]] std::vector<FeetBreach> check_feet(const Score& score, const Player& player, const FeetWishes& wishes,
                                                 const Pedalling& pedalling);

}  // namespace calcant
