// Why an answer of the chooser is one, in sentences.
#pragma once

#include <string>
#include <vector>

#include "engine/registration/choose.hpp"
#include "engine/registration/weigh.hpp"
#include "jobs/context.hpp"
#include "jobs/level_words.hpp"

namespace calcant {

[[nodiscard]] std::vector<std::string> reasons_of(const OrganContext& context, const Chosen& c, const LevelAsked& asked,
                                                  Colour colour);
// What the full model says of it on the middle one of its chords, the assumed levels varied: order and kind, no shares.
[[nodiscard]] std::vector<std::string> weighed_reasons(const Organ& organ, const WeighedRegistration& w);
// "in the nave", "at the bench".
[[nodiscard]] std::string place_words(const OrganContext& context);

}  // namespace calcant
