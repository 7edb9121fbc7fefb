#include <algorithm>

#include "engine/pipe/scale.hpp"
#include "engine/pipe/usual.hpp"
#include "engine/pipe/voice.hpp"

namespace calcant {

PipeDesign design(const Organ& organ, PipeId pipe, const Air& air) {
  const Rank& rank = organ.ranks[static_cast<std::size_t>(pipe.rank)];
  const Chest& chest = organ.chests[static_cast<std::size_t>(rank.chest)];
  const Usual kind = usual(rank);
  const auto positive = [](const Sourced<double>& said, double otherwise) {
    return known(said) && said.value > 0 ? said.value : otherwise;
  };
  PipeDesign d;
  d.family = rank.family;
  d.form = rank.form;
  d.frequency = frequency(organ, pipe, air.temperature);
  d.diameter = diameter(rank, key_of(organ, pipe));
  d.mouth = positive(rank.mouth, kind.mouth);
  d.cut_up = positive(rank.cut_up, kind.cut_up);
  d.wind = known(chest.wind) && chest.wind.value.value() > 0 ? chest.wind.value : millimetres_of_water(75);
  // The model's own level is an assumption resting on assumptions; what the organ knows of rank or pipe stands above it.
  d.loudness = rank.loudness.value;
  d.level_source = known(rank.loudness) ? rank.loudness.source : Source::assumed;
  const auto figures = std::lower_bound(organ.pipe_figures.begin(), organ.pipe_figures.end(), pipe,
                                        [](const Organ::PipeFigures& a, PipeId b) { return a.pipe < b; });
  if (figures != organ.pipe_figures.end() && figures->pipe == pipe && figures->level) {
    d.loudness += figures->level->value;
    d.level_source = std::max(d.level_source, figures->level->source);
  }
  return d;
}

Voice voice(const Organ& organ, PipeId pipe, const Air& air) { return voice(design(organ, pipe, air), air); }

}  // namespace calcant
