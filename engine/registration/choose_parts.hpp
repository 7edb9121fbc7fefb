// What the sources of the chooser share. Used inside the part only.
#pragma once

#include <bit>
#include <optional>
#include <utility>
#include <vector>

#include "engine/registration/choose.hpp"

namespace calcant {

// A state that the screen found, before it is heard in full.
struct Chooser::Candidate {
  double points = 0;
  std::size_t ground = 0;
  std::size_t linking = 0;
  StopMask stops = 0;
  BoxPositions box{};
  friend auto operator<=>(const Candidate&, const Candidate&) = default;
};

struct Chooser::Sifted {
  std::vector<Candidate> found;  // best first
  std::vector<double> acums;     // how many of the allowed at this level have each brightness; empty after a search
  double considered = 0;
};

struct Chooser::Ground {
  Space space;
  Practice practice;
  ChordEar ear;
  int played;
  std::optional<Map> map;
  std::optional<Search> search;
  Ground(Space s, KeyboardIndex on, const Listening& listening, int semitones)
      : space(std::move(s)), practice(space, on, semitones), ear(listening, space.chords()), played(semitones) {}
  [[nodiscard]] const Linking& linking(std::size_t l) const { return space.linkings()[l]; }
  // Musts and must-nots, as masks.
  struct Limits {
    StopMask must = 0;
    StopMask must_not = 0;
    std::vector<bool> linkings;
    bool possible = true;
  };
  [[nodiscard]] Limits limits(const Wish& wish) const {
    Limits out;
    out.must = space.mask(wish.must.stops);
    out.must_not = space.mask(wish.must_not.stops);
    out.possible = static_cast<std::size_t>(std::popcount(out.must)) == wish.must.stops.count();
    for (const Linking& l : space.linkings()) {
      out.linkings.push_back((wish.must.couplers & ~l.couplers.couplers).none() &&
                             (wish.must_not.couplers & l.couplers.couplers).none());
    }
    return out;
  }
  [[nodiscard]] bool allows(const Limits& limits, std::size_t l, StopMask stops, Manner manner) const {
    return limits.linkings[l] && (limits.must & ~stops) == 0 && (limits.must_not & stops) == 0 &&
           practice.allows(l, stops, manner);
  }
};

// Knobs two registrations share, of all that either draws: 1 alike, 0 nothing in common.
[[nodiscard]] double overlap(const Registration& a, const Registration& b);

}  // namespace calcant
