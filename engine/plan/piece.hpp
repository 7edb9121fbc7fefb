// A piece planned from its own dynamics.
#pragma once

#include <string>

#include "engine/plan/palette.hpp"
#include "engine/plan/plan.hpp"
#include "engine/playing/player.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/work.hpp"
#include "engine/score/score.hpp"

namespace calcant {

struct Piece {
  std::string number;
  std::string title;
  double fallback_quarters_per_minute = 80;  // where the score has no tempo and none is given
  std::optional<double> tempo;               // overrules the score's
};

// Adds the piece as the next item. Sections begin where a dynamic is marked; without any the piece has one registration.
// A change is made in the rest before it, by the hand that rests longest; where no rest is long enough it is a helper's,
// and the cue says so. Keyboards: the hands on the leading manual, the feet on the pedals.
[[nodiscard]] Result<void> plan_piece(Plan& plan, const Organ& organ, const Listening& listening, const Score& score,
                                      const Piece& piece, const Player& player, const PaletteWish& wish,
                                      const Work& work);

// Chords of the music to weigh registrations on: at most `count`, spread evenly over the places where a note begins. Feet
// and hands as the score gives them.
[[nodiscard]] std::vector<Chord> sampled_chords(const Score& score, std::size_t count);

}  // namespace calcant
