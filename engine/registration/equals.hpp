// Which registration stands for all that sound the same, where some knobs must or must not be drawn: another one than where
// everything is free, as an 8 ft flute with its 4 ft extension stands for the flute with the octave coupler once that coupler
// must not be drawn.
#pragma once

#include <optional>
#include <vector>

#include "engine/registration/space.hpp"

namespace calcant {

class Equals {
 public:
  // linkings: by linking of the space, whether it may be used. The space must outlive it.
  Equals(const Space& space, StopMask must, StopMask must_not, std::vector<bool> linkings);

  // Of all that sound as this canonical state does, within the limits the one with the fewest knobs; nothing where none is.
  [[nodiscard]] std::optional<Space::State> of(const Space::State& canonical) const;
  // Whether this state is that one.
  [[nodiscard]] bool stands(const Space::State& state) const;

 private:
  [[nodiscard]] bool within(const Space::State& s) const;
  [[nodiscard]] std::optional<Space::State> fewest(const Space::State& s) const;
  const Space* space_;
  StopMask must_;
  StopMask must_not_;
  std::vector<bool> linkings_;
  // By cluster, linking and number of the pipes: the least set of its stops within the limits (Space::Cluster::least).
  std::vector<std::vector<std::vector<std::uint32_t>>> least_;
};

}  // namespace calcant
