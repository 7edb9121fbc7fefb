#include "jobs/level_holds.hpp"

#include <fmt/format.h>

#include "engine/registration/weigh.hpp"

namespace calcant {

Result<double> level_holds(LevelDraws& draws, const LevelClaim& claim, const Work& work) {
  auto figure = draws.phons(claim.of.drawn, claim.of.chords, work);
  if (!figure) return tl::unexpected(figure.error());
  std::vector<double> over(figure->size(), 0.0);
  if (claim.over) {
    auto there = draws.phons(claim.over->drawn, claim.over->chords, work);
    if (!there) return tl::unexpected(there.error());
    over = std::move(*there);
  }
  std::vector<double> whole(figure->size(), 1.0);
  if (claim.towards) {
    const auto there = draws.phons(claim.towards->drawn, claim.towards->chords, work);
    if (!there) return tl::unexpected(there.error());
    for (std::size_t d = 0; d < whole.size(); ++d) whole[d] = (*there)[d] - over[d];
  }
  int holds_in = 0;
  for (std::size_t d = 0; d < figure->size(); ++d) {
    // Without dividing: softest and loudest may come to be alike.
    const double come = (*figure)[d] - over[d];
    if (whole[d] > 0 && come >= claim.least * whole[d] && come <= claim.most * whole[d]) ++holds_in;
  }
  return figure->empty() ? 1 : static_cast<double>(holds_in) / static_cast<double>(figure->size());
}

std::string level_verdict(const LevelClaim& claim, double share) {
  return share < holds ? fmt::format("whether it is {} depends on assumed levels", claim.words)
                       : fmt::format("it is {}, and that holds with the assumed levels varied", claim.words);
}

}  // namespace calcant
