#include "jobs/performance.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include "engine/organ/sounding.hpp"
#include "engine/score/lines.hpp"

namespace calcant {
namespace {

constexpr double restrike_seconds = 1.0 / 16;
constexpr double breath_quarters = 0.25;  // the lift at a line's end, out of the note before

class Player {
 public:
  Player(const Organ& organ) : organ_(organ), sounding_(organ) {}

  // One time through the score, beginning at `origin`; `state(performed)` is the section that holds then.
  template <class SectionAt>
  void once(const Score& score, const Tempo& tempo, double origin, const SectionAt& section_at, bool breathe) {
    const auto all = presses(score);
    std::vector<Rational> ends = breathe ? line_ends(score) : std::vector<Rational>{};
    std::map<std::pair<int, int>, double> next;  // by stave and key, seconds of its next beginning
    for (auto p = all.rbegin(); p != all.rend(); ++p) {
      if (p->role == Role::not_played) continue;
      const Section& section = section_at(p->start);
      const double on = origin + tempo.at(p->start).value();
      double off = origin + tempo.at(p->end).value();
      if (std::find(ends.begin(), ends.end(), p->end) != ends.end()) {
        const double quarter = 60 / tempo.quarters_per_minute(p->start);
        off -= std::min(breath_quarters * quarter, (off - on) / 2);
      }
      const auto key = std::pair{static_cast<int>(p->role), p->key.midi};
      if (const auto again = next.find(key); again != next.end() && off > again->second - restrike_seconds) {
        off = std::max(on + (again->second - on) / 2, std::min(off, again->second - restrike_seconds));
      }
      next[key] = on;
      if (off <= on) continue;
      press(section, *p, on, off);
    }
  }

  Performance done(double length) {
    Performance out;
    for (auto& [pipe, spans] : spans_) {
      std::sort(spans.begin(), spans.end());
      double on = spans.front().first;
      double off = spans.front().second;
      for (const auto& [from, to] : spans) {
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
    out.length = Seconds{length};
    return out;
  }

 private:
  void press(const Section& section, const Press& p, double on, double off) {
    const auto keyboard = section.keyboards.of(p.role);
    if (!keyboard) return;
    const auto k = static_cast<std::size_t>(*keyboard);
    if (!organ_.keyboards[k].keys.contains(p.key)) return;
    // What a set of keys sounds is the union of what each sounds (engine/organ): so each press is looked up alone.
    KeysDown down;
    down.keys[k].insert(p.key.midi);
    sounding_.pipes(section.drawn, down, pipes_);
    for (std::size_t r = 0; r < pipes_.ranks.size(); ++r) {
      for (const int n : pipes_.ranks[r]) spans_[PipeId{static_cast<RankIndex>(r), n}].emplace_back(on, off);
    }
  }

  const Organ& organ_;
  Sounding sounding_;
  PipeSet pipes_;
  std::map<PipeId, std::vector<std::pair<double, double>>> spans_;
};

}  // namespace

Performance perform(const Organ& organ, const Plan& plan, int index, const Score& score,
                    const PerformanceSettings& settings) {
  const Item& item = plan.items[static_cast<std::size_t>(index)];
  const Tempo tempo(score, settings.quarters_per_minute, settings.tempo);
  const double once = tempo.at(performed_length(score)).value();
  Player player(organ);
  Performance out;
  std::vector<BoxPoint> boxes;
  const auto box_at = [&](double at, const Registration& r) {
    for (std::size_t b = 0; b < organ.boxes.size(); ++b) {
      boxes.push_back({static_cast<BoxIndex>(b), Seconds{at}, static_cast<double>(r.box[b])});
    }
  };
  double at = 0;
  if (item.kind == ItemKind::piece) {
    std::vector<Rational> begins;
    for (const Section& s : item.sections) begins.push_back(performed_at(score, s.from).value_or(Rational{0}));
    player.once(
        score, tempo, 0,
        [&](Rational t) -> const Section& {
          std::size_t s = 0;
          while (s + 1 < begins.size() && begins[s + 1] <= t) ++s;
          return item.sections[s];
        },
        score.hymn);
    for (std::size_t s = 0; s < item.sections.size(); ++s) {
      const double when = tempo.at(begins[s]).value();
      if (s > 0) box_at(std::max(0.0, when - 0.5), item.sections[s - 1].drawn);
      box_at(when, item.sections[s].drawn);
    }
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
      player.once(
          score, tempo, at,
          [&](Rational t) -> const Section& {
            std::size_t i = 0;
            while (i + 1 < begins.size() && begins[i + 1] <= t) ++i;
            return item.sections[s + i];
          },
          true);
      for (std::size_t i = 0; i < begins.size(); ++i) {
        const double when = at + tempo.at(begins[i]).value();
        if (i > 0) box_at(when, item.sections[s + i - 1].drawn);
        box_at(when, item.sections[s + i].drawn);
      }
      at += once;
      box_at(at, item.sections[end - 1].drawn);
      s = end;
    }
  }
  out = player.done(at);
  std::stable_sort(boxes.begin(), boxes.end(), [](const BoxPoint& a, const BoxPoint& b) { return a.at < b.at; });
  out.boxes = std::move(boxes);
  return out;
}

}  // namespace calcant
