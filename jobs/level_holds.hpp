// What an answer's level claims, and whether it still does when the assumed levels are drawn again.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/organ/registration.hpp"
#include "engine/registration/level_draws.hpp"

namespace calcant {

// A registration on its chords.
struct HeardThere {
  Registration drawn;
  std::vector<KeysDown> chords;
};

// The level of `of`: by itself; with `over`, how far it is over that (below nothing: under); with both, how far it has come
// from `over` (0) to `towards` (1). It is claimed to lie from `least` to `most`.
struct LevelClaim {
  HeardThere of;
  std::optional<HeardThere> over;
  std::optional<HeardThere> towards;
  double least = 0;
  double most = 0;
  std::string words;  // "nearer to moderate than to the words beside it"
};

// The share of the draws in which it is true. Refuses stopped work.
[[nodiscard]] Result<double> level_holds(LevelDraws& draws, const LevelClaim& claim, const Work& work);
// Whether it holds in nine draws of ten, in a sentence; no percentage.
[[nodiscard]] std::string level_verdict(const LevelClaim& claim, double share);

}  // namespace calcant
