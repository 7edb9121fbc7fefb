// The questions fit() asks, one file for the hands and feet and one for keys and pipes. Internal to the part.
#pragma once

#include <vector>

#include "engine/playing/fit.hpp"
#include "engine/playing/manuals.hpp"

namespace calcant::fitting {

struct Asked {
  const Score& score;
  const Organ& organ;
  const Player& player;
  const Tempo& tempo;
  const FitWishes& wishes;
  const OnKeyboards& keyboards;
  std::vector<Press> presses;
};
[[nodiscard]] Moment first_moment(const Score& s, NoteId n);
[[nodiscard]] Rational onset_of(const Score& s, NoteId n);

void keys(const Asked& a, std::vector<FitFinding>& out);       // outside the keyboards, manuals missing, no pedals
void pipes(const Asked& a, std::vector<FitFinding>& out);      // dead, out of use, couplers, short stops
void stretches(const Asked& a, std::vector<FitFinding>& out);  // spans, a third hand
void feet(const Asked& a, std::vector<FitFinding>& out);       // double pedal, swell pedal

}  // namespace calcant::fitting
