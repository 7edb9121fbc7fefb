// What going from one registration of a hymn or psalm to the next costs, verse to verse, and the time there is for it.
#pragma once

#include <array>
#include <cstdint>
#include <unordered_map>
#include <vector>

#include "engine/plan/hymn.hpp"
#include "engine/plan/knob_words.hpp"
#include "engine/plan/moves.hpp"
#include "engine/plan/objective.hpp"
#include "engine/plan/vocabulary.hpp"
#include "engine/playing/player.hpp"

namespace calcant {

// Who moves these knobs in such a gap: one hand from the last chord on, the other in the gap alone, whichever way round is
// better.
[[nodiscard]] Move move_in(const KnobCount& knobs, const Player& player, const HymnGap& gap);

// One registration of the hymn: what it is chosen from, and what is free before it.
struct HymnStage {
  const std::vector<Shade>* options = nullptr;
  std::vector<Registration> left;  // by option: what is drawn when it is left, after the user's changes within it
  Aim aim;
  // Before it: where the feet of the state before do not play; where they do, under both hands on one manual as a choir
  // does; and where they do under hands on two.
  std::array<HymnGap, 3> gaps{};
  bool answers = false;  // its word is to be heard beside what goes before
};

// Organ, player and stages must outlive it. Not thread-safe: what was asked is kept.
class HymnSteps {
 public:
  // last_leads: the last stage is not to be softer than the one before it (R39).
  HymnSteps(const Organ& organ, const Player& player, const std::vector<HymnStage>& stages, Step where,
            bool last_leads);

  // As in search.hpp: kinds of options, what going between kinds costs, and what is beyond that: boxes, what is heard of
  // the change, and time.
  [[nodiscard]] std::size_t kind(std::size_t s, std::size_t i) const { return kinds_[s][i]; }
  [[nodiscard]] double between(std::size_t s, std::size_t from, std::size_t to, double enough) const;
  [[nodiscard]] double step(std::size_t s, std::size_t i, std::size_t j) const;

 private:
  [[nodiscard]] double too_late(std::size_t s, std::size_t gap, const KnobCount& knobs) const;
  const Player& player_;
  const std::vector<HymnStage>& stages_;
  Step where_;
  bool last_leads_;
  std::size_t boxes_;
  KnobWords words_;
  std::vector<std::vector<std::size_t>> kinds_;                          // by stage and option
  std::vector<KnobWords::Word> drawn_;                                   // by kind
  std::vector<HandsAndFeet> on_;                                         // by kind
  std::vector<std::vector<KnobWords::Word>> leaving_;                    // by stage and kind
  mutable std::vector<std::unordered_map<std::uint64_t, double>> late_;  // by stage: what lack of time costs
};

}  // namespace calcant
