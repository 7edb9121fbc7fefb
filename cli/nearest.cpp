#include "cli/nearest.hpp"

#include <algorithm>
#include <cstddef>

namespace calcant::cli {
namespace {

// Letters left out, put in, changed, or two neighbours swapped (optimal string alignment).
std::size_t distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before_last(b.size() + 1);
  std::vector<std::size_t> last(b.size() + 1);
  std::vector<std::size_t> now(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    now[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t change = last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      now[j] = std::min({last[j] + 1, now[j - 1] + 1, change});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
        now[j] = std::min(now[j], before_last[j - 2] + 1);
      }
    }
    before_last.swap(last);
    last.swap(now);
  }
  return last[b.size()];
}

}  // namespace

std::optional<std::string> nearest(std::string_view word, const std::vector<std::string>& known) {
  if (word.size() > 64) return std::nullopt;
  std::optional<std::string> best;
  std::size_t least = std::min<std::size_t>(3, std::max<std::size_t>(1, word.size() / 3)) + 1;
  for (const auto& candidate : known) {
    const std::size_t d = distance(word, candidate);
    if (d < least) {
      least = d;
      best = candidate;
    }
  }
  return best;
}

}  // namespace calcant::cli
