// What a printed copy's words on couplers, box and stops ask of a plan, and how far a registration meets it.
//
// A word asks from its place on: a coupler until another word on it; a box until the next dynamic or hairpin, which move it
// too; stops until the copy draws that division anew. What the user wishes stands before all of it. What the organ has not,
// or the user has forbidden, is asked of nothing and told.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/plan/moves.hpp"
#include "engine/playing/copy_words.hpp"
#include "engine/score/score.hpp"

namespace calcant {

struct CopyAsk {
  CopyWord word;
  std::optional<std::pair<CouplerIndex, bool>> coupler;  // drawn or in
  std::optional<BoxSetting> box;                         // where its pedal rests
  std::vector<Jambs::Stops> one_of;                      // of each of these a stop
  std::vector<StopIndex> first;                          // of each of these the one to draw where none is
  Jambs::Stops none_of;
  bool whole = false;                // it says all that its division is drawn with
  std::vector<std::string> lacking;  // what is not to be had: "flute 4 (you forbid it)"
  [[nodiscard]] bool empty() const { return !coupler && !box && one_of.empty() && none_of.none(); }
};
// In the order of copy_words(). never: knobs the user forbids.
[[nodiscard]] std::vector<CopyAsk> copy_asks(const Score& score, const Organ& organ, const std::vector<Knob>& never);

// An ask at one passage of the music.
struct StandingAsk {
  std::size_t ask = 0;   // into the asks
  bool fresh = true;     // it is printed where the passage begins; else it stands from before
  double weight = 0;     // what leaving it costs here
  Jambs::Stops besides;  // drawn since by another word
  Jambs::Stops excused;  // put in since by another word
};

// A further word; those it takes the place of are gone.
void ask(std::vector<StandingAsk>& standing, const std::vector<CopyAsk>& asks, std::size_t word);
// A dynamic or a hairpin moves the boxes: what older words ask of them is over.
void boxes_free(std::vector<StandingAsk>& standing, const std::vector<CopyAsk>& asks);

// How much of it a registration leaves, 0 nothing to 1 all.
[[nodiscard]] double unmet(const CopyAsk& asked, const StandingAsk& standing, const Registration& drawn);
// What leaving some of it costs.
[[nodiscard]] double copy_cost(const std::vector<CopyAsk>& asks, const std::vector<StandingAsk>& standing,
                               const Registration& drawn);
// The registration with everything that is asked for done, of the fewest knobs.
[[nodiscard]] Registration as_asked(const std::vector<CopyAsk>& asks, const std::vector<StandingAsk>& standing,
                                    Registration drawn);

// What leaving a word costs where it is printed, and in each passage it still stands in, at most `copy_stands_most` together
// (docs/design/plan.md).
inline constexpr double copy_said = 3;
inline constexpr double copy_stands = 0.5;
inline constexpr double copy_stands_most = 4.5;

}  // namespace calcant
