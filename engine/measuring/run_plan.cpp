#include "engine/measuring/run_plan.hpp"

#include <algorithm>

namespace calcant {

std::vector<Note> by_sides(std::span<const Note> rising) {
  std::vector<Note> out;
  for (const int side : {0, 1})
    for (const Note n : rising)
      if (n.midi % 2 == side) out.push_back(n);
  return out;
}

Recording recording_of(std::span<const float> samples, int rate) {
  return {rate, [samples](std::int64_t from, std::span<float> into) -> Result<std::int64_t> {
            const auto have = static_cast<std::int64_t>(samples.size());
            const std::int64_t n = std::clamp<std::int64_t>(have - from, 0, static_cast<std::int64_t>(into.size()));
            std::copy_n(samples.begin() + static_cast<std::ptrdiff_t>(std::min(from, have)), n, into.begin());
            return n;
          }};
}

}  // namespace calcant
