// What a piece's plan asks of its score: chords to weigh registrations on, whether it is a trio, when the right foot is free.
#pragma once

#include <vector>

#include "engine/plan/passages.hpp"
#include "engine/plan/plan.hpp"
#include "engine/plan/scales.hpp"
#include "engine/playing/feet.hpp"
#include "engine/playing/player.hpp"
#include "engine/playing/windows.hpp"
#include "engine/score/score.hpp"

namespace calcant {

// Whether a score is a trio: each hand one voice throughout, and a pedal.
[[nodiscard]] bool is_trio(const Score& score);

// What about the performance is not in the score: while the hands are on different manuals, and page turns as the file has
// its pages.
[[nodiscard]] Playing playing_of(const Score& score, const Item& item);

// Chords of the music to weigh registrations on: at most `count`, spread evenly over the places where a note begins. Feet
// and hands as the score gives them.
[[nodiscard]] std::vector<Chord> sampled_chords(const Score& score, std::size_t count);

// When the right foot can be on the swell pedal: where the pedal part rests, or the left foot can take it alone. What the
// user has marked (`marks`) is kept.
[[nodiscard]] std::vector<Span> right_foot_for_the_box(const Score& score, const Organ& organ, const Player& player,
                                                       const Tempo& tempo, const std::vector<Passage>& passages,
                                                       const std::vector<FixedFoot>& marks);

}  // namespace calcant
