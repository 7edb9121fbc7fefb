// What registrations a plan chooses from besides, where the copy asks for something.
#pragma once

#include <vector>

#include "engine/plan/passages.hpp"
#include "engine/plan/vocabulary.hpp"

namespace calcant {

// For each passage at whose beginning the copy says something: all that it asks for there; the same with nothing put in; what
// is new alone; what it asked for before, with what is new drawn to it; and for the passage before, what is new on a manual
// that is not played yet. So the least moves are among them. `asks` must outlive what is given back.
[[nodiscard]] std::vector<VocabularyWish::Becoming> becoming(const Organ& organ, const std::vector<CopyAsk>& asks,
                                                             const std::vector<Passage>& passages);

}  // namespace calcant
