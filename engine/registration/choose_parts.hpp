// What the sources of the chooser share. Used inside the part only.
#pragma once

#include <algorithm>
#include <array>
#include <bit>
#include <optional>
#include <utility>
#include <vector>

#include "engine/registration/choose.hpp"

namespace calcant {

// Prices of docs/design/choosing.md, ours. The first is about the step of sharpness that can just be told: 0.04 to 0.08 acum
// after Pedrielli, Carletti and Casazza (2008), as quoted elsewhere; the paper was not seen.
inline constexpr double acums_a_point = 0.06;
inline constexpr double warning_points = 2.0;
// More than any colour is worth at a level: a makeshift is an answer where there is no other.
inline constexpr double makeshift_points = 12.0;
// Two of one family and pitch are a warning here and a half there (SoftPractice).
inline constexpr double soft_points = 4.0;

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
  bool all = true;               // nothing was left out
  bool searched = false;         // another search, away from what is taken, may find others
  double considered = 0;
};

struct Chooser::Allowed {
  std::vector<std::vector<Candidate>> by_block;  // of the map; empty: not known yet, or too many to be kept
  std::vector<double> acums;                     // how many of them have each brightness; empty after a search
};

// An answer settled on, before it is described.
struct Chooser::Taken {
  Ground* ground = nullptr;
  Candidate candidate;
  Registration drawn;
  double points = 0;
};

struct Chooser::Found {
  std::vector<Taken> taken;
  std::vector<double> acums;  // Sifted
  double considered = 0;
};

// On one chord: the softest that anything sounds, and everything together; what a bound stands on. Where registrations are
// searched, also what so many knobs could excite at the most, one more with each.
struct Chooser::ColourLimits {
  double softest = 0;          // phon
  bool may_be_silent = false;  // something sounds on other chords and not on this
  std::optional<Heard> everything;
  std::vector<Heard> with_knobs;  // [k - 1]: k knobs
};

struct Chooser::Ground {
  Space space;
  Practice practice;
  ChordEar ear;
  int played;
  std::optional<Map> map;
  std::optional<Search> search;
  std::vector<Knob> unmissed;                              // of answers thought of and not given; the latest first
  std::array<std::optional<Range>, 3> ranges;              // by manner, once asked for
  std::optional<std::vector<ColourLimits>> colour_limits;  // by chord, once asked for
  Ground(Space s, KeyboardIndex on, const Listening& listening, int semitones)
      : space(std::move(s)), practice(space, on, semitones), ear(listening, space.chords()), played(semitones) {}
  [[nodiscard]] const Linking& linking(std::size_t l) const { return space.linkings()[l]; }
  // Musts and must-nots, as masks.
  struct Limits {
    StopMask must = 0;
    StopMask must_not = 0;
    std::vector<bool> linkings;
    // By linking, for each coupler that must be drawn: the stops that it lets sound otherwise.
    std::vector<std::vector<StopMask>> carried;
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
      auto& carried = out.carried.emplace_back();
      for (const CouplerIndex c : space.couplers()) {
        if (!out.linkings.back() || !wish.must.couplers.test(static_cast<std::size_t>(c))) continue;
        Registration without = l.couplers;
        without.couplers.reset(static_cast<std::size_t>(c));
        const auto state = space.state(without);
        carried.push_back(state ? space.differing(out.linkings.size() - 1, state->linking) : ~StopMask{0});
      }
    }
    return out;
  }
  // Whether every coupler that must be drawn has something to couple.
  [[nodiscard]] static bool carries(const Limits& limits, std::size_t l, StopMask stops) {
    return std::all_of(limits.carried[l].begin(), limits.carried[l].end(),
                       [&](StopMask m) { return (m & stops) != 0; });
  }
  [[nodiscard]] bool allows(const Limits& limits, std::size_t l, StopMask stops, Manner manner) const {
    return limits.linkings[l] && (limits.must & ~stops) == 0 && (limits.must_not & stops) == 0 &&
           carries(limits, l, stops) && practice.allows(l, stops, manner);
  }
};

inline constexpr std::size_t brightness_bins = 400;  // of 0.02 acum each
[[nodiscard]] std::size_t brightness_bin(double acums);

// Answers share no more than this of their knobs.
inline constexpr double apart = 0.5;
// Knobs two registrations share, of all that either draws: 0 nothing in common, 1 alike, or all of the one in the other.
[[nodiscard]] double overlap(const Registration& a, const Registration& b);

}  // namespace calcant
