// A piece cut where its music asks for something else: dynamics, hairpins, words that send the hands to a manual, and
// what the user wants at a bar.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/plan/copy_asks.hpp"
#include "engine/plan/verse.hpp"
#include "engine/playing/manuals.hpp"
#include "engine/score/score.hpp"

namespace calcant {

// What the user wants from a bar on.
struct PlaceWish {
  int bar_index = 0;
  Rational at;
  std::string wish;  // a word or a dynamic; empty: as the score has it
  std::optional<FixedState> fixed;
  std::optional<GivenChange> change{};  // not at the beginning of the piece
  int pass = 1;                         // which time through
};

struct Passage {
  Rational from;       // performed quarters
  std::string mark;    // "mf", or the user's word; empty: none
  std::string note{};  // of the user's words: what is not followed
  double share = 0.5;  // how far up this organ's range the mark leads
  double colour = 0;
  bool given = false;                  // a mark or a word says so, not the absence of one
  std::optional<Rational> hairpin;     // reached gradually, from here on
  bool in_slur = false;                // it begins within a slur: nothing heard is moved there (R34)
  bool waited = false;                 // asked for in the passage before, within a slur, which ends here
  std::optional<KeyboardIndex> right;  // the copy sends the hands there
  std::optional<KeyboardIndex> left;
  std::vector<StandingAsk> asks{};       // what the copy's words ask for here, into the asks given
  std::vector<std::size_t> set_aside{};  // what it would ask for here, did the user not wish something else
  // Into the wishes given: its registration; or what is moved here, all else staying as it was in the passage before.
  const FixedState* fixed = nullptr;
  const GivenChange* change = nullptr;
  [[nodiscard]] bool by_user() const { return fixed != nullptr || change != nullptr; }
};

// In order; the first begins at 0. A mark that says what holds already begins no passage. A hairpin leads to the mark at
// its end, or where there is none a step up or down. Where something is asked for within a slur a further passage begins
// with the same wish where the slur ends, if that is within eight quarters. `asks`: of the copy; a wish of the user's takes
// their place, until the copy says something new.
[[nodiscard]] std::vector<Passage> passages(const Score& score, const Organ& organ,
                                            const std::vector<PlaceWish>& wishes, const Wordbook& own,
                                            const std::vector<CopyAsk>& asks = {});

// Whether the score shows phrases at all: slurs or breaths.
[[nodiscard]] bool shows_phrases(const Score& score);

}  // namespace calcant
