// Whether two hands and two feet can carry a plan out with its music: asked again, apart from the planners, from the
// score's own events and the plan as it is written down (plan.json says all that is looked at here).
#pragma once

#include <string>
#include <vector>

#include "engine/plan/hymn.hpp"
#include "engine/plan/piece.hpp"
#include "engine/plan/plan.hpp"
#include "engine/playing/player.hpp"
#include "engine/score/score.hpp"

namespace calcant {

// Whole sentences, empty when all is well. A piece: every trip of a hand in a window that engine/playing/check.hpp finds
// again from the written notes, on the right side, long enough; the right foot free for the box; and what is moved away
// from the beginning of its passage changes no pipe of any note that is played meanwhile. What it says of the copy's words is so
// (check_copy.hpp).
[[nodiscard]] std::vector<std::string> check_piece(const Organ& organ, const Plan& plan, std::size_t item,
                                                   const Score& score, const Tempo& tempo, const Player& player);

// A hymn or psalm: every change at the end of a verse, half verse or (fixed by the user) line, with the knobs of each
// side counted against the time the hand of that side has there. With its score the time is that of the score's
// notes. A verse asked to be heard with or without mixtures or reeds is, by its pipes, or its note says that it is
// not.
[[nodiscard]] std::vector<std::string> check_hymn(const Organ& organ, const Plan& plan, std::size_t item,
                                                  const Hymn& hymn, const Player& player, const Score* score = nullptr);

// What was forbidden is drawn nowhere but where the user fixed it; the knobs of `must` are drawn everywhere else.
[[nodiscard]] std::vector<std::string> check_wishes(const Organ& organ, const Plan& plan, std::size_t item,
                                                    const VocabularyWish& wish);

}  // namespace calcant
