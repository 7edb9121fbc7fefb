#include "jobs/performance.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include "engine/organ/sounding.hpp"
#include "engine/playing/feet.hpp"
#include "engine/score/lines.hpp"
#include "engine/wind/sag.hpp"

namespace calcant {

struct PipesInTime::State {
  explicit State(const Organ& o) : organ(o), sounding(o) {}
  const Organ& organ;
  Sounding sounding;
  PipeSet pipes;
  std::map<PipeId, std::vector<std::pair<double, double>>> spans;
  std::vector<BoxPoint> boxes;
  std::vector<TremulantSpan> tremulants;

  // Key to pallet.
  [[nodiscard]] double delay(DivisionIndex division) const {
    const auto d = static_cast<std::size_t>(division);
    return d < organ.action.delay.size() ? std::max(0.0, organ.action.delay[d].value.value()) : 0.0;
  }
};

PipesInTime::PipesInTime(const Organ& organ) : state_(std::make_unique<State>(organ)) {}
PipesInTime::~PipesInTime() = default;

void PipesInTime::keys(const Registration& drawn, const KeysDown& keys, double from, double to) {
  State& s = *state_;
  if (to <= from) return;
  s.sounding.pipes(drawn, keys, s.pipes);
  for (std::size_t r = 0; r < s.pipes.ranks.size(); ++r) {
    const double delay = s.delay(s.organ.chests[static_cast<std::size_t>(s.organ.ranks[r].chest)].division);
    for (const int n : s.pipes.ranks[r]) {
      s.spans[PipeId{static_cast<RankIndex>(r), n}].emplace_back(from + delay, to + delay);
    }
  }
}

void PipesInTime::accessories(const Registration& drawn, double from, double to) {
  State& s = *state_;
  for (std::size_t b = 0; b < s.organ.boxes.size(); ++b) {
    for (const double at : {from, to}) {
      s.boxes.push_back({static_cast<BoxIndex>(b), Seconds{at}, static_cast<double>(drawn.box[b])});
    }
  }
  for (std::size_t a = 0; a < s.organ.accessories.size(); ++a) {
    const Accessory& shaking = s.organ.accessories[a];
    if (shaking.kind != AccessoryKind::tremulant || !drawn.accessories.test(a) || !shaking.division) continue;
    s.tremulants.push_back({*shaking.division, Seconds{from}, Seconds{to}});
  }
}

Performance PipesInTime::done(double length) const {
  Performance out;
  for (const auto& [pipe, spans] : state_->spans) {
    std::vector<std::pair<double, double>> sorted = spans;
    std::sort(sorted.begin(), sorted.end());
    auto [on, off] = sorted.front();
    for (const auto& [from, to] : sorted) {
      if (from > off) {
        out.events.push_back({pipe, Seconds{on}, Seconds{off}});
        on = from;
        off = to;
      }
      off = std::max(off, to);
    }
    out.events.push_back({pipe, Seconds{on}, Seconds{off}});
    length = std::max(length, off);
  }
  std::sort(out.events.begin(), out.events.end(),
            [](const PipeEvent& a, const PipeEvent& b) { return std::pair(a.on, a.pipe) < std::pair(b.on, b.pipe); });
  out.boxes = state_->boxes;
  std::stable_sort(out.boxes.begin(), out.boxes.end(),
                   [](const BoxPoint& a, const BoxPoint& b) { return a.at < b.at; });
  out.tremulants = state_->tremulants;
  out.length = Seconds{length};
  return out;
}

namespace {

constexpr double box_seconds = 0.5;  // in which a foot moves the box from one section's place to the next's

// One time through the score. Section `first` holds at the beginning, the others from their times (performed quarters).
class Playing {
 public:
  Playing(const Organ& organ, const Score& score, const Tempo& tempo, const PerformanceSettings& settings,
          PipesInTime& into)
      : organ_(organ), score_(score), tempo_(tempo), settings_(settings), into_(into) {}

  void once(const std::vector<const Section*>& sections, const std::vector<Rational>& begins, double origin) const {
    const auto section_at = [&](Rational t) {
      std::size_t s = 0;
      while (s + 1 < begins.size() && begins[s + 1] <= t) ++s;
      return s;
    };
    const auto keyboard_at = [&](Role role, Rational t) -> std::optional<KeyboardIndex> {
      return sections[section_at(t)]->keyboards.of(role);
    };
    for (const KeyHeld& k :
         keys_held(score_, tempo_, settings_.touch, shortest_lift(organ_), settings_.feet, keyboard_at)) {
      const auto keyboard = static_cast<std::size_t>(k.keyboard);
      if (!organ_.keyboards[keyboard].keys.contains(k.key)) continue;
      KeysDown down;
      down.keys[keyboard].insert(k.key.midi);
      // What a set of keys sounds is the union of what each sounds (engine/organ): so each is looked up alone, and again
      // where a knob moves while it is held.
      for (std::size_t s = section_at(k.start); s < sections.size(); ++s) {
        const double from = s == 0 ? 0 : tempo_.at(begins[s]).value();
        if (from >= k.off.value()) break;
        const double until = s + 1 < begins.size() ? tempo_.at(begins[s + 1]).value() : k.off.value();
        into_.keys(sections[s]->drawn, down, origin + std::max(from, k.on.value()),
                   origin + std::min(until, k.off.value()));
      }
    }
    const double end = tempo_.at(performed_length(score_)).value();
    for (std::size_t s = 0; s < sections.size(); ++s) {
      const double from = s == 0 ? 0 : tempo_.at(begins[s]).value();
      const double until = s + 1 < begins.size() ? tempo_.at(begins[s + 1]).value() - box_seconds : end;
      into_.accessories(sections[s]->drawn, origin + from, origin + std::max(from, until));
    }
  }

 private:
  const Organ& organ_;
  const Score& score_;
  const Tempo& tempo_;
  const PerformanceSettings& settings_;
  PipesInTime& into_;
};

}  // namespace

FeetTouch feet_touch(const Score& score, const Organ& organ, const Player& player,
                     const PerformanceSettings& settings) {
  const Tempo tempo(score, settings.quarters_per_minute, settings.tempo);
  FeetWishes wishes;
  wishes.fixed = marks_in(score);
  auto pedalling = solve_feet(score, organ, player, tempo, wishes);
  if (!pedalling) pedalling = solve_feet(score, organ, player, tempo);
  return pedalling ? feet_touch(*pedalling, pedal_part(score, tempo)) : FeetTouch{};
}

std::optional<std::string> set_wind(const Organ& organ, const Air& air, bool by_hand, Performance& p) {
  const LitresPerSecond supply = by_hand ? organ.wind.hand_pump.value : organ.wind.blower.value;
  if (!(supply.value() > 0)) return std::nullopt;  // nothing is known of it
  const WindTable table(organ, air);
  std::vector<DemandChange> changes;
  for (const PipeEvent& e : p.events) {
    const LitresPerSecond taken = table.of(e.pipe);
    changes.push_back({e.on, taken});
    changes.push_back({e.off, LitresPerSecond{} - taken});
  }
  Sag s = sag(std::move(changes), supply, organ.wind.reservoir.value);
  p.wind = std::move(s.pressure);
  return sentence(s, supply, by_hand ? "The pump" : "The blower");
}

Performance perform(const Organ& organ, const Plan& plan, int index, const Score& score,
                    const PerformanceSettings& settings) {
  const Item& item = plan.items[static_cast<std::size_t>(index)];
  const Tempo tempo(score, settings.quarters_per_minute, settings.tempo);
  const double once = tempo.at(performed_length(score)).value();
  PipesInTime pipes(organ);
  const Playing playing(organ, score, tempo, settings, pipes);
  double at = 0;
  if (item.kind == ItemKind::piece) {
    std::vector<const Section*> sections;
    std::vector<Rational> begins;
    for (const Section& s : item.sections) {
      sections.push_back(&s);
      begins.push_back(performed_at(score, s.from).value_or(Rational{0}));
    }
    playing.once(sections, begins, 0);
    at = once;
  } else {
    const double gap = settings.gap_quarters * 60 / tempo.quarters_per_minute(Rational{0});
    const std::vector<Rational> ends = line_ends(score);
    for (std::size_t s = 0; s < item.sections.size();) {
      const int verse = item.sections[s].from.verse;
      std::size_t end = s + 1;  // a verse's sections: what was fixed at the end of a line begins another
      while (end < item.sections.size() && item.sections[end].from.verse == verse) ++end;
      if (verse == 0) {  // the play-over is not played again before verse 1 here
        s = end;
        continue;
      }
      std::vector<Rational> begins{Rational{0}};
      for (std::size_t i = s + 1; i < end; ++i) {
        const auto line = static_cast<std::size_t>(std::max(item.sections[i].from.line, 2)) - 2;
        begins.push_back(line < ends.size() ? ends[line] : performed_length(score));
      }
      if (at > 0) at += gap;
      std::vector<const Section*> sections;
      for (std::size_t i = s; i < end; ++i) sections.push_back(&item.sections[i]);
      playing.once(sections, begins, at);
      at += once;
      s = end;
    }
  }
  return pipes.done(at);
}

}  // namespace calcant
