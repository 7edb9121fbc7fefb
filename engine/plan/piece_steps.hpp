// What going from one state of a piece to another costs where one passage gives way to the next.
#pragma once

#include <unordered_map>
#include <vector>

#include "engine/plan/changes.hpp"
#include "engine/plan/composition.hpp"
#include "engine/plan/knob_words.hpp"
#include "engine/plan/objective.hpp"
#include "engine/plan/passages.hpp"
#include "engine/plan/vocabulary.hpp"
#include "engine/playing/player.hpp"

namespace calcant {

// All of this must outlive it. Not thread-safe: what was asked is kept.
class PieceSteps {
 public:
  PieceSteps(const Organ& organ, const Player& player, const std::vector<Passage>& passages,
             const std::vector<Aim>& aims, const std::vector<Chance>& chances, const std::vector<Shade>& shades,
             const std::vector<Heeded>& heeded);

  // Kinds of states, and what going from a state of one to a state of another before passage p costs: all but boxes and
  // loudness (search.hpp).
  [[nodiscard]] std::size_t kind(std::size_t shade) const { return kinds_[shade]; }
  [[nodiscard]] double between(std::size_t p, std::size_t from, std::size_t to, double enough) const;
  // From one state to another: the boxes, and what is heard of the change.
  [[nodiscard]] double step(std::size_t p, std::size_t from, std::size_t to) const;

  // The composition pedal that is pressed on the way before passage p, where that is cheaper than by hand alone; the rest is
  // moved by hand.
  [[nodiscard]] const Composition* pressed(std::size_t p, std::size_t from, std::size_t to) const;
  // Knobs moved between two states that are heard when they are.
  [[nodiscard]] int heard(std::size_t from, std::size_t to) const;
  // Whether a box must be moved by a foot that is not free.
  [[nodiscard]] bool foot_lacks(std::size_t p, std::size_t from, std::size_t to) const;

 private:
  [[nodiscard]] int over(std::size_t p, const Sorted& knobs) const;
  struct Kind;
  [[nodiscard]] double by_hand(std::size_t p, const Kind& a, const Kind& b, double enough) const;
  // With this pedal, where the foot has time for it; infinity where not.
  [[nodiscard]] double by_foot(std::size_t p, const Kind& a, const Kind& b, std::size_t pedal) const;
  const Organ& organ_;
  const Player& player_;
  const std::vector<Passage>& passages_;
  const std::vector<Aim>& aims_;
  const std::vector<Chance>& chances_;
  const std::vector<Shade>& shades_;
  KnobWords words_;
  std::vector<int> room_;           // by passage: knobs there is any window for
  std::vector<std::size_t> kinds_;  // by shade
  struct Kind {
    HandsAndFeet on;
    KnobWords::Word drawn{};
    KnobWords::Word heard{};
    std::vector<std::size_t> pedals;  // that leave its stops as they are
  };
  std::vector<Kind> of_kind_;
  std::vector<Composition> pedals_;
  struct Press {
    KnobWords::Word reach{};
    KnobWords::Word leaves{};
  };
  std::vector<Press> presses_;                                         // of pedals_
  mutable std::vector<std::unordered_map<std::uint64_t, int>> known_;  // by passage: knobs without a window
};

}  // namespace calcant
