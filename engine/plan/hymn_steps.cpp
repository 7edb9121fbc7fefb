#include "engine/plan/hymn_steps.hpp"

#include <algorithm>

namespace calcant {

Move move_in(const KnobCount& knobs, const Player& player, const HymnGap& gap) {
  const Move a = move_for(knobs, player, {gap.left, gap.gap, gap.foot});
  const Move b = move_for(knobs, player, {gap.gap, gap.right, gap.foot});
  return b.lacking() < a.lacking() || (b.lacking() == a.lacking() && b.mover == Mover::right_hand) ? b : a;
}

HymnSteps::HymnSteps(const Organ& organ, const Player& player, const std::vector<HymnStage>& stages, Step where,
                     bool last_leads)
    : player_(player),
      stages_(stages),
      where_(where),
      last_leads_(last_leads),
      boxes_(organ.boxes.size()),
      words_(organ),
      leaving_(stages.size()),
      late_(stages.size()) {
  StateKinds kinds;
  for (std::size_t s = 0; s < stages.size(); ++s) {
    kinds_.emplace_back();
    for (std::size_t i = 0; i < stages[s].options->size(); ++i) {
      const Shade& shade = (*stages[s].options)[i];
      const KnobWords::Word drawn = words_.drawn(shade.drawn);
      const std::size_t k = kinds.of(drawn, shade.on);
      kinds_.back().push_back(k);
      if (k == drawn_.size()) {
        drawn_.push_back(drawn);
        on_.push_back(shade.on);
      }
      if (leaving_[s].size() <= k) leaving_[s].resize(k + 1);
      leaving_[s][k] = words_.drawn(stages[s].left[i]);
    }
  }
}

double HymnSteps::between(std::size_t s, std::size_t from, std::size_t to, double enough) const {
  const KnobWords::Word& then = leaving_[s - 1][from];
  KnobCount moved;
  moved.either = words_.moved(then, drawn_[to]);
  const double cost = step_cost(moved, where_, on_[from] != on_[to]);
  if (cost >= enough || moved.either == 0) return cost;
  const double rise = (stages_[s].aim.target - stages_[s - 1].aim.target).value();
  return cost + crossways_cost(words_.stops_lost(then, drawn_[to]), words_.stops_lost(drawn_[to], then), rise);
}

double HymnSteps::step(std::size_t s, std::size_t i, std::size_t j) const {
  const Shade& from = (*stages_[s - 1].options)[i];
  const Shade& to = (*stages_[s].options)[j];
  const Registration& then = stages_[s - 1].left[i];
  const std::size_t a = kinds_[s - 1][i];
  const std::size_t b = kinds_[s][j];
  KnobCount knobs;
  for (std::size_t box = 0; box < boxes_; ++box) knobs.boxes += then.box[box] != to.drawn.box[box];
  const double rise = (stages_[s].aim.target - stages_[s - 1].aim.target).value();
  double cost = contrast_cost(rise, (to.loudness - from.loudness).value()) + step_cost(knobs, where_, false);
  const int boxes = knobs.boxes;
  knobs = words_.by_side(leaving_[s - 1][a], drawn_[b]);
  knobs.boxes = boxes;
  if (knobs.all() + knobs.boxes > 0)
    cost += too_late(s, !from.on.feet ? 0 : from.on.right == from.on.left ? 1 : 2, knobs);
  if (stages_[s].answers)
    cost += answer_not_heard * unheard(stages_[s - 1].aim, stages_[s].aim, from, to, answer_meant);
  if (last_leads_ && s + 1 == stages_.size())
    cost += last_verse_softer * std::max(0.0, (from.loudness - to.loudness).value());
  return cost;
}

double HymnSteps::too_late(std::size_t s, std::size_t gap, const KnobCount& knobs) const {
  const std::uint64_t key =
      (static_cast<std::uint64_t>(knobs.left) << 40) | (static_cast<std::uint64_t>(knobs.right) << 24) |
      (static_cast<std::uint64_t>(knobs.either) << 8) | (knobs.boxes > 0 ? 4U : 0U) | static_cast<std::uint64_t>(gap);
  const auto [it, fresh] = late_[s].try_emplace(key);
  if (fresh) it->second = too_late_cost(move_in(knobs, player_, stages_[s].gaps[gap]).lacking(), where_);
  return it->second;
}

}  // namespace calcant
