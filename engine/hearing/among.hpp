// What the parts of a sound excite through the filters of the whole: for bounds on what some of them together can do.
#pragma once

#include <span>
#include <vector>

#include "engine/hearing/loudness.hpp"

namespace calcant {

// Of each part, its excitation in each filter, the filters as wide as they are when all of `whole` sounds (and as wide
// as the part makes them, at least). These add up by power; some parts heard by themselves excite no filter more than the
// sum of theirs here, because less sound widens no filter. Refuses what check_lines refuses.
[[nodiscard]] Result<std::vector<std::vector<double>>> excitations_among(const Ear& ear, std::span<const Lines> parts,
                                                                         const Lines& whole);

// What is heard of an excitation, one figure a filter, as Ear::hear() has it.
[[nodiscard]] Heard heard_of(const Ear& ear, std::vector<double> excitation);

}  // namespace calcant
