#include "engine/plan/weighed_shades.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "engine/plan/lower_hand.hpp"
#include "engine/plan/under_hand.hpp"

namespace calcant {
namespace {

// In the currency of the search (docs/design/plan.md); figures ours.
constexpr double no_gain = 0.25;       // a stop that does not change the sound
constexpr double audible_phon = 0.3;   // what is heard in direct comparison (docs/accuracy/hearing.md)
constexpr double audible_acum = 0.02;  // share of the brightness
constexpr double lost_note = 0.4;      // one note the music wants that does not speak
constexpr int lost_counted = 4;
constexpr double ready_knob = 0.02;     // drawn where nothing is played: kept, or ready for what comes, not more
constexpr std::size_t kept_pedals = 2;  // for each state of the hands

void draw(Registration& r, const Voicing& v) {
  for (const StopIndex s : v.stops) r.stops.set(static_cast<std::size_t>(s));
}

}  // namespace

WeighedShades::WeighedShades(const Organ& organ, Scales& scales, const VocabularyWish& wish, Placing placing)
    : organ_(organ),
      sounding_(organ),
      wish_(wish),
      lead_(leading_manual(organ)),
      left_is_lower_(calcant::left_is_lower(scales.chords())) {
  if (wish.feet) pedal_ = pedalboard(organ);
  if (pedal_ && !pedal_speaks()) pedal_.reset();
  voices_.emplace(organ, scales, wish.never, pedal_, forbidden());
  if (!pedal_) return;
  fit_.emplace(organ, *pedal_, wish.never, placing, left_is_lower_);
  pedals_ = pedal_voicings(organ, home(*pedal_), wish.never);
  for (std::size_t s = 0; s < organ.stops.size(); ++s) {
    pedal_stops_.set(s, organ.stops[s].division == home(*pedal_));
    sixteens_.set(s, pedal_stops_[s] && chorus_part(organ.stops[s]) == ChorusPart::sixteen);
  }
}

// What no state may have drawn.
Registration WeighedShades::forbidden() const {
  Registration out;
  out.couplers.set();
  for (std::size_t k = 0; k < organ_.keyboards.size(); ++k) {
    if (organ_.keyboards[k].pedal && static_cast<KeyboardIndex>(k) != pedal_) continue;
    for (std::size_t d = 0; d < organ_.divisions.size(); ++d) {
      if (const auto c =
              unison_coupler(organ_, static_cast<KeyboardIndex>(k), static_cast<DivisionIndex>(d), wish_.never))
        out.couplers.reset(static_cast<std::size_t>(*c));
    }
  }
  for (std::size_t s = 0; s < organ_.stops.size(); ++s) {
    if (chorus_part(organ_.stops[s]) == ChorusPart::other || organ_.stops[s].out_of_use) out.stops.set(s);
  }
  for (const Knob k : wish_.never) {
    if (k.kind == Knob::Kind::stop) out.stops.set(static_cast<std::size_t>(k.index));
  }
  for (const Knob k : wish_.must) {
    if (k.kind == Knob::Kind::stop) out.stops.reset(static_cast<std::size_t>(k.index));
    if (k.kind == Knob::Kind::coupler) out.couplers.reset(static_cast<std::size_t>(k.index));
  }
  for (const VocabularyWish::Becoming& b : wish_.become) {
    for (const Knob k : b.with) {
      if (k.kind == Knob::Kind::stop) out.stops.reset(static_cast<std::size_t>(k.index));
      if (k.kind == Knob::Kind::coupler) out.couplers.reset(static_cast<std::size_t>(k.index));
    }
  }
  return out;
}

// Whether anything could sound under the feet: a stop of the pedal's own, or a coupler from it.
bool WeighedShades::pedal_speaks() {
  Registration everything;
  for (std::size_t s = 0; s < organ_.stops.size(); ++s)
    everything.stops.set(s, std::find(wish_.never.begin(), wish_.never.end(),
                                      Knob{Knob::Kind::stop, static_cast<int>(s)}) == wish_.never.end());
  for (std::size_t d = 0; d < organ_.divisions.size(); ++d) {
    if (const auto c = unison_coupler(organ_, *pedal_, static_cast<DivisionIndex>(d), wish_.never))
      everything.couplers.set(static_cast<std::size_t>(*c));
  }
  return sounds_under(everything, *pedal_);
}
bool WeighedShades::sounds_under(const Registration& drawn, KeyboardIndex k) {
  KeysDown down;
  down.keys[static_cast<std::size_t>(k)] = organ_.keyboards[static_cast<std::size_t>(k)].keys;
  PipeSet pipes;
  sounding_.pipes(drawn, down, pipes);
  return pipes.size() > 0;
}

std::vector<Registration> WeighedShades::with_pedals(const Registration& hands, const HandsAndFeet& on,
                                                     Phons heard_at) {
  if (!pedal_) return {hands};
  QuickScales* q = heard(on);
  const auto coupler = fit_->follows(on);
  std::vector<std::pair<double, Registration>> ways;
  for (const Voicing& p : pedals_) {
    for (const bool coupled : {true, false}) {
      if (coupled && !coupler) continue;
      Registration r = hands;
      draw(r, p);
      if (coupled) r.couplers.set(static_cast<std::size_t>(*coupler));
      const PedalLevels levels = pedal_levels(*q, r, heard_at);
      if (levels.feet > Phons{0}) ways.emplace_back(p.against + fit_->against(r, on, levels), r);
    }
  }
  std::stable_sort(ways.begin(), ways.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<Registration> out;
  bool uncoupled = false;
  for (const auto& [cost, r] : ways) {
    const bool alone = r.couplers == hands.couplers;
    // Besides the best, the best that leaves the pedals to themselves: it serves whichever manual is played.
    if (out.size() >= kept_pedals && (!alone || uncoupled)) continue;
    uncoupled = uncoupled || alone;
    out.push_back(r);
  }
  if (out.empty()) out.push_back(hands);
  return out;
}

PedalLevels WeighedShades::pedal_levels(QuickScales& q, const Registration& r, Phons hands) {
  Registration alone;
  alone.box = r.box;
  alone.stops = r.stops & pedal_stops_;
  const Phons own = q.feet(alone).loudness;
  alone.stops &= sixteens_;
  return {hands, q.feet(r).loudness, own, q.feet(alone).loudness};
}

double WeighedShades::pedal_cost(QuickScales& q, const Registration& r, const HandsAndFeet& on, Phons hands) {
  if (!on.feet) return 0;
  const auto drawn = std::find_if(pedals_.begin(), pedals_.end(), [&](const Voicing& v) {
    Registration only;
    draw(only, v);
    return only.stops == (r.stops & pedal_stops_);
  });
  return (drawn == pedals_.end() ? 0 : drawn->against) + fit_->against(r, on, pedal_levels(q, r, hands));
}

// Stops that change nothing, and notes of the day that are missing.
double WeighedShades::idle_and_lost(QuickScales& q, const Registration& r, const QuickScales::Figures& hands) {
  double cost = 0;
  for (std::size_t s = 0; s < organ_.stops.size(); ++s) {
    if (!r.stops[s]) continue;
    const double lost = s < wish_.lost.size() ? lost_note * std::min(wish_.lost[s], lost_counted) : 0;
    if (pedal_ && organ_.stops[s].division == home(*pedal_)) {
      cost += lost;
      continue;
    }
    Registration without = r;
    without.stops.reset(s);
    const auto f = q.hands(without);
    const double phon = std::abs(hands.loudness.value() - f.loudness.value());
    if (phon == 0) {  // of a manual that is not heard
      cost += ready_knob;
      continue;
    }
    cost += lost;
    const double acum = std::abs(hands.brightness.value() - f.brightness.value());
    if (phon < audible_phon && acum < audible_acum * hands.brightness.value()) cost += no_gain;
  }
  return cost;
}

Shade* WeighedShades::keep(const Registration& r, const HandsAndFeet& on, std::string what, double against) {
  if (!seen_.insert(seen_as(r, on)).second) return nullptr;
  QuickScales* q = heard(on);
  if (q == nullptr) return nullptr;
  const auto all = q->all(r);
  const auto hands = q->hands(r);
  if (hands.loudness.value() <= 0 || (on.feet && !sounds_under(r, *on.feet))) return nullptr;
  Shade s;
  s.drawn = r;
  s.on = on;
  s.loudness = all.loudness;
  s.hands = hands.loudness;
  if (on.feet) s.pedal = q->feet(r).loudness;
  s.brightness = all.brightness;
  s.what = std::move(what);
  // The pedal carries the accompaniment, where the hands are apart.
  const Phons carried =
      on.right == on.left
          ? hands.loudness
          : heard(left_is_lower_ ? HandsAndFeet{{}, on.left, {}} : HandsAndFeet{on.right, {}, {}})->all(r).loudness;
  s.against = against + idle_and_lost(*q, r, hands) + pedal_cost(*q, r, on, carried);
  under_the_hand(organ_, lead_, s);
  shades_.push_back(std::move(s));
  return &shades_.back();
}

}  // namespace calcant
