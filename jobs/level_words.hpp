// A level said in words, as a figure for one keyboard: "soft", "a shade more than NAME", "enough for 40".
#pragma once

#include <optional>
#include <string>

#include "engine/plan/singers.hpp"
#include "engine/registration/choose.hpp"
#include "jobs/context.hpp"
#include "jobs/knobs_asked.hpp"
#include "jobs/level_holds.hpp"

namespace calcant {

struct LevelAsked {
  Phons level;
  Manner manner = Manner::free;
  std::string purpose;  // a sentence: what was asked, in figures
  std::optional<SingersLevel> singers;
  // phon: a plain word of level is no figure, and on a small organ may fall between two registrations. 0 for everything
  // else, which is a figure though it be said in words.
  double leeway = 0;
  LevelClaim claim;             // of what answers it; whose level it is, is left open
  bool full = false;            // said in that word: everything that is heard
  bool soft = false;            // said in a word that practice takes for soft (SoftPractice)
  Colour colour = Colour::any;  // said by the word besides: "dark"
};

// What must and must not be drawn on an answer moves the ends that words of level stand between.
// Any word a verse may have (engine/plan/plain_words.hpp, and the folder's own): a share of what practice allows in this
// manner; "a shade more (less) than NAME" and "as loud as NAME" (a saved registration, or stops in words), "enough for 40".
// one: a singer, where singers are asked for. Errors name the nearest words there are.
[[nodiscard]] Result<LevelAsked> level_asked(const OrganContext& context, Chooser& chooser, const std::string& words,
                                             const Singers& one, Manner manner, const KnobsAsked& knobs,
                                             const Work& work);
// "softer", "louder", "a shade louder": beside what is drawn now; and which way.
[[nodiscard]] bool is_step(const std::string& level);
[[nodiscard]] bool is_louder(const std::string& level);

}  // namespace calcant
