// A piece planned from its own dynamics, hairpins and words.
#pragma once

#include <string>
#include <vector>

#include "engine/plan/passages.hpp"
#include "engine/plan/piece_score.hpp"
#include "engine/plan/plan.hpp"
#include "engine/plan/scales.hpp"
#include "engine/plan/vocabulary.hpp"
#include "engine/playing/player.hpp"
#include "engine/playing/windows.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/work.hpp"
#include "engine/score/score.hpp"

namespace calcant {

struct Piece {
  std::string number;
  std::string title;
  double fallback_quarters_per_minute = assumed_tempo;  // where the score has no tempo and none is given
  std::optional<double> tempo;                          // overrules the score's
  std::vector<PlaceWish> wishes;
  std::vector<FixedFoot> feet;     // foot marks of the user's: the box goes round them
  HandsAndFeet on;                 // manuals the user gives a hand throughout, whatever the copy says
  Wordbook words;                  // of the user's own
  Phons correction;                // from what was said after earlier services
  std::vector<std::string> notes;  // for the front of the sheet: where to cut
};

// Adds the piece as the next item. Passages begin where the music asks for something else (passages.hpp); what changes is
// moved in the windows of changes.hpp, and where none has room it is a helper's and the cue says so. A trio (two single
// voices and a pedal) is played on two manuals.
[[nodiscard]] Result<void> plan_piece(Plan& plan, const Organ& organ, const Listening& listening, const Score& score,
                                      const Piece& piece, const Player& player, const VocabularyWish& wish,
                                      const Work& work);

}  // namespace calcant
