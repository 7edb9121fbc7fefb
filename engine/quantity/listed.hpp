// Several things told in one sentence.
#pragma once

#include <string>
#include <vector>

namespace calcant {

// "A, B and C"; empty of none.
[[nodiscard]] inline std::string listed(const std::vector<std::string>& things) {
  std::string out;
  for (std::size_t i = 0; i < things.size(); ++i)
    out += (i == 0 ? "" : i + 1 == things.size() ? " and " : ", ") + things[i];
  return out;
}

}  // namespace calcant
