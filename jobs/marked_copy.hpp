// A plan's cues, manuals and foot marks written into a copy of the score.
#pragma once

#include <string>

#include "engine/plan/plan.hpp"
#include "engine/playing/feet.hpp"
#include "engine/playing/player.hpp"
#include "jobs/read_score.hpp"

namespace calcant {

// The pedal part of a planned item: the player's own style, the right foot away where the plan moves the box, the user's
// marks kept (they are notes of the feet). Nothing where the feet have nothing to play.
[[nodiscard]] std::optional<Pedalling> feet_in_plan(const Organ& organ, const Plan& plan, int item, const Score& score,
                                                    const Player& player, const Tempo& tempo,
                                                    const std::vector<FixedFoot>& marks = {});

// Changes stand above the uppermost stave where the hand is first free, with what they are ready for where that is later;
// manuals above each stave where a hand goes to one; of the feet what is not obvious, or every mark. The score is
// MusicXML.
[[nodiscard]] Result<std::string> marked_copy(const Organ& organ, const Plan& plan, int item, const ReadScore& read,
                                              const Pedalling* feet, bool every_foot);

}  // namespace calcant
