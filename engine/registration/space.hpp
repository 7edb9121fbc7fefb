// The space of registrations for keys held down: what each way of setting the couplers lets each stop sound, cut into
// groups of pipes that always speak together.
//
// The unit is the pipe, not the stop: shared ranks, borrowed basses and couplers are resolved here once, so that a state
// is a union of groups and a pipe counts once. Two states are the same when their sets of pipes are. Knobs that cannot
// reach the keys drop out.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/organ/registration.hpp"
#include "engine/organ/sounding.hpp"
#include "engine/quantity/result.hpp"

namespace calcant {

// Which of Space::stops are drawn: bit i for stops[i].
using StopMask = std::uint64_t;

// Pipes that speak whenever any of these stops is drawn, and only then. All in one box, or in none.
struct Group {
  StopMask stops = 0;
  std::optional<BoxIndex> box;
  std::vector<PipeId> pipes;  // rising
};

// One way the couplers can stand, as far as these keys can tell.
struct Linking {
  Registration couplers;                   // the fewest knobs that bring it about; no stop drawn
  int knobs = 0;                           // how many those are
  std::vector<StopMask> same_as;           // by linking before this one: stops that sound the same pipes in both
  std::vector<std::vector<Group>> groups;  // by chord; disjoint
};

class Space {
 public:
  // chords: what the keys are in turn; a state is heard on each. `forbidden`: knobs that
  // must not be drawn. Refuses no chord, no key, more than 64 stops or 16 couplers that reach the keys.
  [[nodiscard]] static Result<Space> make(const Organ& organ, std::span<const KeysDown> chords,
                                          const Registration& forbidden = {});

  [[nodiscard]] const Organ& organ() const { return *organ_; }
  [[nodiscard]] const std::vector<KeysDown>& chords() const { return chords_; }
  [[nodiscard]] const std::vector<StopIndex>& stops() const { return stops_; }  // that reach the keys
  [[nodiscard]] const std::vector<CouplerIndex>& couplers() const { return couplers_; }
  [[nodiscard]] const std::vector<Linking>& linkings() const { return linkings_; }  // fewest knobs first

  // Whether no linking with fewer knobs (or before it, with as many) makes the same pipes sound with these stops: so
  // that equal states are counted once (see the note in the source on the rare rest).
  [[nodiscard]] bool canonical(std::size_t linking, StopMask stops) const;
  // The knobs of a state, boxes as in `boxes`.
  [[nodiscard]] Registration registration(std::size_t linking, StopMask stops, const Registration& boxes = {}) const;
  // The state of a registration: its linking and stops; knobs that cannot reach the keys are left out.
  struct State {
    std::size_t linking;
    StopMask stops;
  };
  [[nodiscard]] State state(const Registration& drawn) const;
  // States before equal ones are counted once: linkings x 2^stops.
  [[nodiscard]] double raw_states() const;

 private:
  const Organ* organ_ = nullptr;
  std::vector<KeysDown> chords_;
  std::vector<StopIndex> stops_;
  std::vector<CouplerIndex> couplers_;
  std::vector<Linking> linkings_;
};

}  // namespace calcant
