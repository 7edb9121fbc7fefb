// The pencilling list: what an organist writes into a paper copy, place by place, in the words that are pencilled.
//
// For a piece the place is page, system, bar and beat as far as the score or the user has them; for what is sung, the verse
// and the line or half. Each change stands where the hand is first free for it, with the place it must be ready for.
#pragma once

#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/plan/plan.hpp"
#include "engine/score/score.hpp"

namespace calcant {

// "+ Prin. 4  off Sw to Gt  box open  on Sw": one change as it is pencilled.
[[nodiscard]] std::string pencilled(const Organ& organ, const Cue& cue);
// "on Gt", "RH Sw  LH Gt": the manuals.
[[nodiscard]] std::string pencilled(const Organ& organ, const HandsAndFeet& on);
// Everything drawn, as it is pencilled at the head of a piece: a line a division, then couplers and box: "Gt Op. Diap. 8,
// Prin. 4", "Ped Bdn 16", "Sw to Gt, box shut".
[[nodiscard]] std::vector<std::string> pencilled(const Organ& organ, const Registration& drawn);

struct PencilLine {
  std::string place;  // "p. 2, system 3, bar 17, beat 4", "before Verse 3", "v3, second half"
  std::string what;   // as pencilled()
  std::string hand;   // "R", "L", "foot", "helper"; empty where nothing is moved
  std::string ready;  // where it must be done, when that is another place; empty
};
struct Pencilling {
  std::string number;
  std::string title;
  std::vector<std::string> start;  // what is drawn at the beginning, and the manuals
  std::vector<PencilLine> lines;
};

// By item of the plan. `scores`: by item, nullptr where there is none; pages and systems are those it encodes.
[[nodiscard]] std::vector<Pencilling> pencilling(const Organ& organ, const Plan& plan,
                                                 const std::vector<const Score*>& scores);

[[nodiscard]] std::string pencilling_text(const std::vector<Pencilling>& lists);
// A self-contained page, black on white, to lie beside the copy while it is marked.
[[nodiscard]] std::string pencilling_html(const Organ& organ, const std::vector<Pencilling>& lists);

}  // namespace calcant
