#include "engine/plan/piece_steps.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

namespace calcant {
namespace {

constexpr double without_window = 10.0;        // a knob for a helper who is not there
constexpr double without_window_helped = 0.4;  // where a helper stands by
constexpr double box_without_foot = 30.0;      // nobody else can reach the swell pedal
constexpr double knob_in_hairpin = 0.5;        // a hairpin is the box's
constexpr double heard_in_a_phrase = 60.0;     // R34, for each knob

// The counts in one number; nothing where they are too many for it.
std::optional<std::uint64_t> packed(const Sorted& s) {
  std::uint64_t key = 0;
  for (const KnobCount* c : {&s.heard, &s.early, &s.late, &s.any}) {
    for (const int n : {c->left, c->right, c->either}) {
      if (n > 31) return std::nullopt;
      key = key << 5 | static_cast<std::uint64_t>(n);
    }
  }
  return key;
}

// Knobs that all windows together have room for.
int room(const Chance& c) {
  int most = 0;
  for (const auto* times : {&c.helped, &c.alone}) {
    int knobs = 0;
    for (const auto& hands : *times) {
      for (const HandTime& t : hands) knobs += t.knobs;
    }
    most = std::max(most, knobs);
  }
  return most;
}

// Where louder or softer is marked, and too little of it to want a step that is heard: for each phon the other way.
constexpr double meant = 0.7;
constexpr double wrong_way = 1.0;
double wrong_way_cost(double rise, double had) {
  if (std::abs(rise) < meant || contrast_cost(rise, had) > 0) return 0;
  return wrong_way * std::max(0.0, rise > 0 ? -had : had);
}

}  // namespace

PieceSteps::PieceSteps(const Organ& organ, const Player& player, const std::vector<Passage>& passages,
                       const std::vector<Aim>& aims, const std::vector<Chance>& chances,
                       const std::vector<Shade>& shades, const std::vector<Heeded>& heeded)
    : organ_(organ),
      player_(player),
      passages_(passages),
      aims_(aims),
      chances_(chances),
      shades_(shades),
      words_(organ),
      pedals_(compositions(organ)),
      known_(passages.size()) {
  for (const Chance& c : chances) room_.push_back(room(c));
  for (const Composition& c : pedals_) {
    Registration reach;
    Registration leaves;
    reach.stops = c.reach;
    leaves.stops = c.leaves;
    presses_.push_back({words_.drawn(reach), words_.drawn(leaves)});
  }
  StateKinds kinds;
  for (std::size_t i = 0; i < shades.size(); ++i) {
    const KnobWords::Word drawn = words_.drawn(shades[i].drawn);
    kinds_.push_back(kinds.of(drawn, shades[i].on));
    if (kinds_.back() < of_kind_.size()) continue;
    of_kind_.push_back({shades[i].on, drawn, words_.heard(heeded[i]), {}});
    for (std::size_t c = 0; c < pedals_.size(); ++c) {
      if ((shades[i].drawn.stops & pedals_[c].reach) == pedals_[c].leaves) of_kind_.back().pedals.push_back(c);
    }
  }
}

double PieceSteps::between(std::size_t p, std::size_t from, std::size_t to, double enough) const {
  const Kind& a = of_kind_[from];
  const Kind& b = of_kind_[to];
  double cost = by_hand(p, a, b, enough);
  for (const std::size_t pedal : b.pedals) cost = std::min(cost, by_foot(p, a, b, pedal));
  return cost;
}

double PieceSteps::by_hand(std::size_t p, const Kind& a, const Kind& b, double enough) const {
  KnobCount moved;
  moved.either = words_.moved(a.drawn, b.drawn);
  double cost = step_cost(moved, Step::between_sections, a.on != b.on);
  if (chances_[p].hairpin) cost += knob_in_hairpin * moved.either;
  if (cost >= enough || moved.either == 0) return cost;
  // So many at least have no window, whatever side they are on.
  const double a_knob = player_.helper ? without_window_helped : without_window;
  const double least = cost + a_knob * std::max(0, moved.either - room_[p]);
  if (least >= enough) return least;
  const double rise = (aims_[p].target - aims_[p - 1].target).value();
  cost += crossways_cost(words_.stops_lost(a.drawn, b.drawn), words_.stops_lost(b.drawn, a.drawn), rise);
  if (cost >= enough) return cost;
  const Sorted knobs = words_.sorted(a.drawn, a.heard, b.drawn, b.heard);
  // What is heard before and not after is heard when it is moved before the hands have left.
  if (passages_[p].in_slur && !passages_[p].by_user())
    cost += heard_in_a_phrase * (knobs.heard.all() + knobs.late.all());
  return cost + a_knob * over(p, knobs);
}

// One press is one move, whatever it draws; what it draws is heard as by hand.
double PieceSteps::by_foot(std::size_t p, const Kind& a, const Kind& b, std::size_t pedal) const {
  const Chance& c = chances_[p];
  // Time for the box beside it, which is the same foot's; in a hairpin that foot is the box's.
  if (c.hairpin || c.foot.seconds < Seconds{2 * player_.foot_accessory.value.value()})
    return std::numeric_limits<double>::infinity();
  KnobWords::Word then = a.drawn;
  bool idle = true;
  for (std::size_t i = 0; i < then.size(); ++i) {
    then[i] = (a.drawn[i] & ~presses_[pedal].reach[i]) | presses_[pedal].leaves[i];
    idle = idle && then[i] == a.drawn[i];
  }
  if (idle) return std::numeric_limits<double>::infinity();
  KnobCount moved;
  moved.either = words_.moved(then, b.drawn) + 1;
  double cost = step_cost(moved, Step::between_sections, a.on != b.on);
  const double rise = (aims_[p].target - aims_[p - 1].target).value();
  cost += crossways_cost(words_.stops_lost(a.drawn, b.drawn), words_.stops_lost(b.drawn, a.drawn), rise);
  if (passages_[p].in_slur && !passages_[p].by_user()) {
    const Sorted all = words_.sorted(a.drawn, a.heard, b.drawn, b.heard);
    cost += heard_in_a_phrase * (all.heard.all() + all.late.all());
  }
  const double a_knob = player_.helper ? without_window_helped : without_window;
  return cost + a_knob * over(p, words_.sorted(then, a.heard, b.drawn, b.heard));
}

const Composition* PieceSteps::pressed(std::size_t p, std::size_t from, std::size_t to) const {
  const Kind& a = of_kind_[kinds_[from]];
  const Kind& b = of_kind_[kinds_[to]];
  double best = by_hand(p, a, b, std::numeric_limits<double>::infinity());
  const Composition* found = nullptr;
  for (const std::size_t pedal : b.pedals) {
    if (const double cost = by_foot(p, a, b, pedal); cost < best) {
      best = cost;
      found = &pedals_[pedal];
    }
  }
  return found;
}

int PieceSteps::over(std::size_t p, const Sorted& knobs) const {
  const auto key = packed(knobs);
  if (!key) return without_a_window(knobs, chances_[p]);
  const auto [it, fresh] = known_[p].try_emplace(*key);
  if (fresh) it->second = without_a_window(knobs, chances_[p]);
  return it->second;
}

double PieceSteps::step(std::size_t p, std::size_t from, std::size_t to) const {
  const Shade& a = shades_[from];
  const Shade& b = shades_[to];
  KnobCount moved;
  for (std::size_t i = 0; i < organ_.boxes.size(); ++i) moved.boxes += a.drawn.box[i] != b.drawn.box[i];
  const double rise = (aims_[p].target - aims_[p - 1].target).value();
  const double had = (b.hands - a.hands).value();
  double cost = contrast_cost(rise, had) + wrong_way_cost(rise, had);
  if (moved.boxes == 0) return cost;
  cost += step_cost(moved, Step::between_sections, false);
  return cost + (foot_lacks(p, from, to) ? box_without_foot : 0);
}

int PieceSteps::heard(std::size_t from, std::size_t to) const {
  const Kind& a = of_kind_[kinds_[from]];
  const Kind& b = of_kind_[kinds_[to]];
  const Sorted knobs = words_.sorted(a.drawn, a.heard, b.drawn, b.heard);
  return knobs.heard.all() + knobs.late.all();
}

bool PieceSteps::foot_lacks(std::size_t p, std::size_t from, std::size_t to) const {
  const bool moves = !std::equal(shades_[from].drawn.box.begin(),
                                 shades_[from].drawn.box.begin() + static_cast<long>(organ_.boxes.size()),
                                 shades_[to].drawn.box.begin());
  return moves && chances_[p].foot.seconds < player_.foot_accessory.value;
}

}  // namespace calcant
