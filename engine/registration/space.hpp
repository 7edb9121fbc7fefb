// The space of registrations for keys held down: what each way of setting the couplers lets each stop sound, cut into
// groups of pipes that always speak together.
//
// The unit is the pipe, not the stop: shared ranks, borrowed basses and couplers are resolved here once, so that a state
// is a union of groups and a pipe counts once. Two states are the same when their sets of pipes are, on every chord; the
// one with the fewest knobs stands for all of them. Knobs that cannot reach the keys drop out.
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
  StopMask sounding = 0;                   // stops that sound anything in it
  std::vector<std::vector<Group>> groups;  // by chord; disjoint
};

class Space {
 public:
  // chords: what the keys are in turn; a state is heard on each. `forbidden`: knobs that must not be drawn. The organ
  // must outlive it. Refuses no chord, no key, more than 64 stops or 16 couplers that reach the keys, more than 1024
  // linkings, more than 16 stops whose pipes hang together (a unit organ's).
  [[nodiscard]] static Result<Space> make(const Organ& organ, std::span<const KeysDown> chords,
                                          const Registration& forbidden = {});

  [[nodiscard]] const Organ& organ() const { return *organ_; }
  [[nodiscard]] const std::vector<KeysDown>& chords() const { return chords_; }
  [[nodiscard]] const std::vector<StopIndex>& stops() const { return stops_; }  // that reach the keys
  [[nodiscard]] const std::vector<CouplerIndex>& couplers() const { return couplers_; }
  [[nodiscard]] const std::vector<Linking>& linkings() const { return linkings_; }  // fewest knobs first

  // Whether this state stands for all that make the same pipes sound: none has fewer knobs, none as many and comes before
  // it. Exact. The state in which nothing sounds stands for itself: linking 0, no stops.
  [[nodiscard]] bool canonical(std::size_t linking, StopMask stops) const;
  // The knobs of a state, boxes as in `boxes`.
  [[nodiscard]] Registration registration(std::size_t linking, StopMask stops, const Registration& boxes = {}) const;
  // The state of a registration: its linking and stops; knobs that cannot reach the keys are left out. Refuses one that
  // draws a forbidden knob that matters.
  struct State {
    std::size_t linking = 0;
    StopMask stops = 0;
    friend bool operator==(const State&, const State&) = default;
  };
  [[nodiscard]] Result<State> state(const Registration& drawn) const;
  // Where these stops stand among stops(); those that do not reach the keys are left out.
  [[nodiscard]] StopMask mask(const std::bitset<max_stops>& drawn) const;
  // The stops that sound otherwise, each by itself, in one linking than in the other.
  [[nodiscard]] StopMask differing(std::size_t linking, std::size_t other) const;
  // States before equal ones are counted once: linkings x 2^stops.
  [[nodiscard]] double raw_states() const;

 private:
  friend class Equals;
  // Stops whose pipes overlap, in some linking, by a chain of stops: the same pipes can only sound through these. Every
  // set of pipes they can make has a number, the same in all linkings.
  struct Cluster {
    std::vector<int> stops;                         // bits of a StopMask
    std::vector<std::vector<std::uint32_t>> makes;  // by linking, by set of them: the number
    std::vector<std::vector<std::uint32_t>> least;  // by linking, by number: the least set that makes it, or `none`
    static constexpr std::uint32_t none = ~std::uint32_t{0};
    [[nodiscard]] std::uint32_t gather(StopMask stops_drawn) const;
  };
  using Sounds = std::vector<std::vector<std::vector<PipeSet>>>;  // by linking, stop of `stops_`, chord
  [[nodiscard]] Result<void> find_linkings(const Registration& forbidden);
  [[nodiscard]] Result<Sounds> find_stops(const Registration& forbidden);
  [[nodiscard]] Result<void> find_equals(const Sounds& sounds);

  const Organ* organ_ = nullptr;
  std::vector<KeysDown> chords_;
  std::vector<StopIndex> stops_;
  std::vector<CouplerIndex> couplers_;
  std::vector<Linking> linkings_;
  std::vector<Cluster> clusters_;            // of two stops or more
  StopMask alone_ = 0;                       // stops that share no pipe with any other
  std::vector<std::vector<StopMask>> same_;  // by two linkings: those of `alone_` that sound the same in both
};

}  // namespace calcant
