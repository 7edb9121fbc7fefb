// The stretches of a hymn, psalm or piece from paper that have one registration each, and what each is aimed at.
#pragma once

#include <string>

#include "engine/plan/hymn.hpp"
#include "engine/plan/objective.hpp"

namespace calcant {

// One stretch that is played (or sung alone) with one registration.
struct HymnPart {
  std::size_t verse = 0;
  bool over = false;  // the play-over
  int half = 0;       // of a psalm's verse: 1, 2; 0 whole
  std::string wish;
  StopsAsked stops;
  std::string note;  // what was said and is not followed
  std::string label;
  const FixedState* fixed = nullptr;
  const GivenChange* change = nullptr;  // what is drawn before it, changed so
  Aim aim;
  std::size_t stage = 0;  // whose registration it has
  bool sounding = true;
  bool apart = false;  // the tune on one manual, all else on another
};

// The levels a hymn moves between, and the least that singers are taken for (0: nobody is led).
struct HymnRange {
  double low = 0;
  double high = 0;
  Phons floor;
};
// A word's share of the range; without one, the verse leans on its place among the others (R37, R39). `before`: the part
// before it, which "softer" and "louder" are said of; null: none.
[[nodiscard]] Aim aim_of(const Hymn& hymn, const HymnPart& part, const HymnRange& range, const HymnPart* before);

// Whether its word is to be heard beside what goes before, however little it asks for: any of a psalm's, where words are few
// and mean little in level, and "softer" or "louder". Else a step so small is no matter.
[[nodiscard]] bool answers(const Hymn& hymn, const HymnPart& part);

}  // namespace calcant
