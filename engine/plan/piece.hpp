// A piece planned from its own dynamics, hairpins and words.
#pragma once

#include <string>
#include <vector>

#include "engine/plan/passages.hpp"
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

// Whether a score is a trio: each hand one voice throughout, and a pedal.
[[nodiscard]] bool is_trio(const Score& score);

// What about the performance is not in the score: while the hands are on different manuals, and page turns as the file has
// its pages.
[[nodiscard]] Playing playing_of(const Score& score, const Item& item);

// Chords of the music to weigh registrations on: at most `count`, spread evenly over the places where a note begins. Feet
// and hands as the score gives them.
[[nodiscard]] std::vector<Chord> sampled_chords(const Score& score, std::size_t count);

}  // namespace calcant
