// A piece cut where its music asks for something else: dynamics, hairpins, words that send the hands to a manual, and
// what the user wants at a bar.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/plan/verse.hpp"
#include "engine/playing/manuals.hpp"
#include "engine/score/score.hpp"

namespace calcant {

// What the user wants from a bar on, first time through.
struct PlaceWish {
  int bar_index = 0;
  Rational at;
  std::string wish;  // a word or a dynamic; empty: as the score has it
  std::optional<FixedState> fixed;
};

struct Passage {
  Rational from;       // performed quarters
  std::string mark;    // "mf", or the user's word; empty: none
  double share = 0.5;  // how far up this organ's range the mark leads
  double colour = 0;
  bool given = false;                  // a mark or a word says so, not the absence of one
  std::optional<Rational> hairpin;     // reached gradually, from here on
  bool in_slur = false;                // it begins within a slur
  std::optional<KeyboardIndex> right;  // the copy sends the hands there
  std::optional<KeyboardIndex> left;
  const FixedState* fixed = nullptr;  // into the wishes given
};

// In order; the first begins at 0. A mark that says what holds already begins no passage. A hairpin leads to the mark at
// its end, or where there is none a step up or down.
[[nodiscard]] std::vector<Passage> passages(const Score& score, const Organ& organ,
                                            const std::vector<PlaceWish>& wishes, const Wordbook& own);

// Whether the score shows phrases at all: slurs or breaths.
[[nodiscard]] bool shows_phrases(const Score& score);

}  // namespace calcant
