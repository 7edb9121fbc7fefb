#include "engine/quantity/nearest.hpp"

#include <algorithm>

namespace calcant {
namespace {

int edit_distance(std::string_view a, std::string_view b) {
  std::vector<int> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) row[j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    int diagonal = row[0];
    row[0] = static_cast<int>(i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const int above = row[j];
      row[j] = std::min({above + 1, row[j - 1] + 1, diagonal + (a[i - 1] == b[j - 1] ? 0 : 1)});
      diagonal = above;
    }
  }
  return row[b.size()];
}

}  // namespace

std::string nearest(std::string_view word, const std::vector<std::string>& known) {
  if (word.size() > 64) return {};
  std::string best;
  int least = std::max(2, static_cast<int>(word.size()) / 3) + 1;
  for (const std::string& k : known) {
    const int d = edit_distance(word, k);
    if (d < least) {
      least = d;
      best = k;
    }
  }
  return best;
}

std::string perhaps(std::string_view word, const std::vector<std::string>& known) {
  const std::string near = nearest(word, known);
  return near.empty() ? "" : "; perhaps \"" + near + "\"";
}

}  // namespace calcant
