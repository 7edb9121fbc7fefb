// How loud and how drawn each passage of a piece is meant.
#pragma once

#include <vector>

#include "engine/plan/copy_asks.hpp"
#include "engine/plan/objective.hpp"
#include "engine/plan/passages.hpp"

namespace calcant {

// By passage. The range is that of what the hands play in the vocabulary that practice has little against; `trio`: chamber
// music, softer where nothing is marked. Where the copy says what a manual is drawn with, that is how loud it is meant.
[[nodiscard]] std::vector<Aim> piece_aims(const Organ& organ, const std::vector<Passage>& passages,
                                          const std::vector<CopyAsk>& asks, const std::vector<Shade>& vocabulary,
                                          bool trio, Phons correction);

}  // namespace calcant
