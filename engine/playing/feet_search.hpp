// The exact search for the feet: a lattice of states, and the cheapest path through it.
//
// A state says for each foot which note it played last, with toe or heel, whether it still holds it, and a second key it
// may be holding. Notes are taken in order; an edge takes one note with one foot and part, and may change foot or part
// on it while it is held. A foot that has been free for `forget` seconds has no place any more: it has gone where it
// likes. Every state that can occur is kept, so the cheapest path is the cheapest there is (proved against brute force
// in feet_search_test.cpp). Internal to the part; people use feet.hpp.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "engine/playing/feet_cost.hpp"

namespace calcant {

struct FeetRules {
  Pedalboard board;
  FeetWeights weights = default_feet_weights();
  bool heels = true;
  bool heel_on_sharps = false;
  int foot_span = 4;  // semitones
  Seconds forget{4.0};
  Seconds long_enough_to_change{1.5};  // a note on which a change is worth its trouble
};

// What an edge does with its note.
struct FeetChoice {
  Foot foot = Foot::left;
  FootPart part = FootPart::toe;
  enum class Change : std::uint8_t { none, other_toe, other_heel, same_foot } change = Change::none;

  friend bool operator==(const FeetChoice&, const FeetChoice&) = default;
  // Who holds the key at its end.
  [[nodiscard]] FeetChoice after() const;
};

// What is demanded of one note: nothing, a foot, a part, and who is to hold it at its end.
struct FeetDemand {
  std::optional<Foot> foot;
  std::optional<FootPart> part;
  std::optional<Foot> foot_after;
  std::optional<FootPart> part_after;

  [[nodiscard]] bool allows(const FeetChoice& c) const;
};

// One foot between two notes.
struct FootMemory {
  std::int32_t last = -1;  // note; -1: nowhere in particular
  std::int32_t also = -1;  // a second key it holds
  FootPart part = FootPart::toe;
  FootPart also_part = FootPart::toe;
  bool released = false;  // it has left `last` to the other foot

  friend bool operator==(const FootMemory&, const FootMemory&) = default;
};
struct FeetState {
  std::array<FootMemory, 2> foot;  // by Foot
  friend bool operator==(const FeetState&, const FeetState&) = default;
};

using FeetTerms = std::array<double, feet_terms>;

// The ways to take note `i` from state `s`, with the terms each costs and the state it leads to.
struct FeetEdge {
  FeetChoice choice;
  FeetState next;
  FeetTerms terms{};
};
// Clears and fills `out`.
void feet_edges(const std::vector<PedalNote>& notes, const FeetRules& rules, std::size_t i, const FeetState& s,
                const FeetDemand& demand, std::vector<FeetEdge>& out);

[[nodiscard]] double dot(const FeetWeights& w, const FeetTerms& t);

struct FeetPath {
  std::vector<FeetChoice> choices;  // one for each note
  std::vector<FeetTerms> terms;
  std::vector<bool> at_sight;  // the choice is (among) the cheapest when the notes to come are not looked at
  double cost = 0;
  // The least cost of the whole part when note i is struck with [foot][part]; infinite where it cannot be.
  std::vector<std::array<std::array<double, 2>, 2>> least_with;
};
// `notes` by start, then key. `demands` is empty or one for each note.
[[nodiscard]] FeetPath cheapest_feet(const std::vector<PedalNote>& notes, const FeetRules& rules,
                                     const std::vector<FeetDemand>& demands);

}  // namespace calcant
