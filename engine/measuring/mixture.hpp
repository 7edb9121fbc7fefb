// Several pipes on one key by design (a mixture, a cornet): each one's line, as far as it can be told from the others'.
// Inside the part only.
#pragma once

#include <span>
#include <vector>

#include "engine/measuring/comb.hpp"
#include "engine/measuring/note.hpp"

namespace calcant::measuring {

struct HeardMixture {
  std::vector<HeardPipe> pipes;  // as asked for, lowest first
  double power = 0.0;            // of every line of every pipe, each counted once; full-scale sine = 1
};

// `steady` as for fit_pitch; `expected`: hertz of the pipes. A pipe is looked for within 45 cents of its place (or two
// lines of the spectrum, if that is more) and heard where it stands 13 dB over the noise beside it.
[[nodiscard]] HeardMixture hear_mixture(std::span<const float> steady, double rate, const std::vector<double>& expected,
                                        Bench& bench);

}  // namespace calcant::measuring
