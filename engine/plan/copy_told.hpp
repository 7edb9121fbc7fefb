// What a plan says of the copy's words: which it follows, why it leaves the others, and another way.
#pragma once

#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/plan/changes.hpp"
#include "engine/plan/copy_asks.hpp"
#include "engine/plan/passages.hpp"
#include "engine/plan/plan.hpp"
#include "engine/playing/windows.hpp"

namespace calcant {

// How a plan goes from one passage to the next: what is drawn before and after, and what time there is.
struct CopyStep {
  const Passage* passage = nullptr;
  const Registration* before = nullptr;  // nothing: the piece begins here
  const Heeded* then = nullptr;
  const Registration* drawn = nullptr;
  const Heeded* next = nullptr;
  const Chance* chance = nullptr;
};

// Of the words printed where the passage begins.
[[nodiscard]] std::vector<CopyHeed> copy_heeded(const Organ& organ, const Player& player, const Score& score,
                                                const std::vector<CopyAsk>& asks, const std::vector<Window>& windows,
                                                const CopyStep& step);
// For the end of a reason: ", as the copy asks: \"Sw. Oboe\", \"Gt. to Ped. off\""; empty where nothing is followed.
[[nodiscard]] std::string as_the_copy_asks(const std::vector<CopyHeed>& heeded);
// What this organ has for a word it cannot follow to the letter; empty where there is nothing.
[[nodiscard]] std::string another_way(const Organ& organ, const CopyWord& word);
// A sentence each for words that ask for what this organ has not, or that can be read in more than one way.
[[nodiscard]] std::vector<std::string> copy_not_here(const Organ& organ, const Score& score,
                                                     const std::vector<CopyAsk>& asks);

}  // namespace calcant
