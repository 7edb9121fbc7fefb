// What the organ of the day cannot do for a piece of music, and what is said of it.
#pragma once

#include <string>
#include <vector>

#include "engine/plan/plan.hpp"
#include "engine/score/score.hpp"
#include "jobs/context.hpp"

namespace calcant {

// By stop: how many notes of the music it has no speaking pipe for today, played from its own keyboard. Empty where every
// pipe speaks.
[[nodiscard]] std::vector<int> lost_by_stop(const OrganContext& context, const Score& score);

// Where the music, as it is planned, wants a pipe that does not speak: which, and how often. Whole sentences.
[[nodiscard]] std::vector<std::string> lost_notes(const OrganContext& context, const Item& item, const Score& score);

// "Pedal Bourdon 16, F#2: does not speak": what the day's overlay takes away, for the sheet's foot.
[[nodiscard]] std::vector<std::string> faults_of_the_day(const OrganContext& context);

}  // namespace calcant
