// What the organ of the day cannot do for a piece of music, and what is said of it.
#pragma once

#include <string>
#include <vector>

#include "engine/plan/plan.hpp"
#include "engine/plan/scales.hpp"
#include "engine/score/score.hpp"
#include "jobs/context.hpp"

namespace calcant {

// The keys some music wants: of a score, each once.
[[nodiscard]] Chord keys_wanted(const Score& score);
// By stop: how many of these keys it has no speaking pipe for today, played from its own keyboard. Empty where every pipe
// speaks.
[[nodiscard]] std::vector<int> lost_by_stop(const OrganContext& context, const Chord& wanted);

// What of these keys is missing today in a hymn as it is planned, and a stop out of use that would have led it, each with
// another way: for the front of the sheet, without full stops. `of`: whose keys they are, "D major" or "this hymn".
[[nodiscard]] std::vector<std::string> lost_told(const OrganContext& context, const Item& item, const Chord& wanted,
                                                 const std::string& of);

// The same for a piece, by its bars.
[[nodiscard]] std::vector<std::string> lost_told(const OrganContext& context, const Item& item, const Score& score);

// "Pedal Bourdon 16, F#2: does not speak": what the day's overlay takes away, for the sheet's foot.
[[nodiscard]] std::vector<std::string> faults_of_the_day(const OrganContext& context);

}  // namespace calcant
