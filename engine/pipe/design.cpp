#include <algorithm>
#include <cmath>

#include "engine/pipe/scale.hpp"
#include "engine/pipe/usual.hpp"
#include "engine/pipe/voice.hpp"

namespace calcant {
namespace {

// What the organ says of the pipe, its spectrum left to the model.
PipeDesign unshaped(const Organ& organ, PipeId pipe, const Air& air) {
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
  if (const auto* figures = pipe_figures(organ, pipe); figures != nullptr && figures->level) {
    d.loudness += figures->level->value;
    d.level_source = std::max(d.level_source, figures->level->source);
  }
  return d;
}

// By how much the partials known of a pipe differ from the model's, both counted from their strongest.
std::vector<double> difference(const Organ& organ, const Organ::PipeFigures& figures, const Air& air) {
  const Voice model = voice(unshaped(organ, figures.pipe, air), air);
  std::vector<double> by_harmonic;
  double strongest = -1e9;
  for (const Partial& p : model.partials) {
    by_harmonic.resize(static_cast<std::size_t>(p.harmonic), -1e9);
    by_harmonic.back() = p.power.value();
    strongest = std::max(strongest, p.power.value());
  }
  const std::vector<double>& known_levels = figures.spectrum->value;
  const double loudest = *std::max_element(known_levels.begin(), known_levels.end());
  std::vector<double> out;
  for (std::size_t i = 0; i < known_levels.size(); ++i) {
    const double modelled = i < by_harmonic.size() ? std::max(-75.0, by_harmonic[i] - strongest) : -75.0;
    const double difference = known_levels[i] - loudest - modelled;
    out.push_back(std::isfinite(difference) ? std::clamp(difference, -75.0, 75.0) : -75.0);
  }
  return out;
}

// Neighbours of the same rank whose spectrum is known: the nearest at or below, and at or above.
void shape_by_neighbours(PipeDesign& d, const Organ& organ, PipeId pipe, const Air& air) {
  const Organ::PipeFigures* below = nullptr;
  const Organ::PipeFigures* above = nullptr;
  for (const auto& f : organ.pipe_figures) {
    if (f.pipe.rank != pipe.rank || !f.spectrum || f.spectrum->value.empty()) continue;
    if (f.pipe.number <= pipe.number) below = &f;
    if (f.pipe.number >= pipe.number && above == nullptr) above = &f;
  }
  if (below == nullptr && above == nullptr) return;
  if (below == nullptr) below = above;
  if (above == nullptr) above = below;
  d.spectrum_source = below == above && below->pipe == pipe ? below->spectrum->source : Source::computed;
  d.reshape_db = difference(organ, *below, air);
  if (above == below) return;
  const std::vector<double> upper = difference(organ, *above, air);
  const double share =
      static_cast<double>(pipe.number - below->pipe.number) / (above->pipe.number - below->pipe.number);
  const std::size_t count = std::max(d.reshape_db.size(), upper.size());
  d.reshape_db.resize(count, d.reshape_db.back());
  for (std::size_t i = 0; i < count; ++i)
    d.reshape_db[i] += share * (upper[std::min(i, upper.size() - 1)] - d.reshape_db[i]);
}

}  // namespace

PipeDesign design(const Organ& organ, PipeId pipe, const Air& air) {
  PipeDesign d = unshaped(organ, pipe, air);
  if (!organ.pipe_figures.empty()) shape_by_neighbours(d, organ, pipe, air);
  return d;
}

Voice voice(const Organ& organ, PipeId pipe, const Air& air) { return voice(design(organ, pipe, air), air); }

}  // namespace calcant
