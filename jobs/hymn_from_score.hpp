// What a score itself says of a hymn.
#pragma once

#include <optional>

#include "engine/plan/hymn.hpp"
#include "engine/playing/player.hpp"
#include "engine/score/score.hpp"

namespace calcant {

// Chords, last chord and the hands it spares, lines, key and tempo, where the hymn does not say them; and who plays the
// bass is told to the score.
void take_from_score(Hymn& h, Score& score, std::optional<double> tempo, const Player& player);

}  // namespace calcant
