#include "engine/playing/touch.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <map>
#include <tuple>
#include <utility>

#include "engine/playing/feet.hpp"
#include "engine/quantity/typed.hpp"
#include "engine/score/lines.hpp"

namespace calcant {
namespace {

constexpr std::array<std::pair<Repeat, std::string_view>, 3> repeat_words{{
    {Repeat::strike, "repeat"},
    {Repeat::tie, "tie"},
    {Repeat::by_beat, "beat"},
}};

constexpr double staccato_share = 0.5;
constexpr double leaving_share = 0.25;  // of a note, for a foot that must leave it
constexpr double most_leaving = 0.15;   // s

enum class Voice { tune, inner, bass };

// What a press is in a hymn: the highest key down when it begins is the tune; the lowest, or the feet's, the bass.
Voice voice_of(const Press& p, const std::vector<Press>& all) {
  if (p.role == Role::feet) return Voice::bass;
  bool highest = true;
  bool lowest = true;
  for (const Press& other : all) {
    if (other.start > p.start) break;
    if (other.end <= p.start) continue;
    if (other.key > p.key) highest = false;
    if (other.key < p.key || other.role == Role::feet) lowest = false;
  }
  return highest ? Voice::tune : lowest ? Voice::bass : Voice::inner;
}

// The first beat of a bar, and the middle one where both halves have two beats or more (4/4, 6/8, 12/8).
bool strong_beat(const Score& score, Rational performed) {
  const Moment m = moment_at(score, performed);
  const Bar& bar = score.bars[static_cast<std::size_t>(m.bar_index)];
  const Rational full{4 * bar.beats, bar.beat_type > 0 ? bar.beat_type : 4};
  const Rational at = bar.pickup && bar.length < full ? m.at + full - bar.length : m.at;
  return at == Rational{} || (bar.beats >= 4 && bar.beats % 2 == 0 && at == full / Rational{2});
}

// One key from its stroke to where its note ends as written.
struct Down {
  Rational start;
  Rational end;
  Voice voice;
  bool staccato = false;
  bool leaving = false;  // the foot must be elsewhere
};

class Keys {
 public:
  Keys(const Score& score, const Tempo& tempo, const Touch& touch, Seconds shortest)
      : score_(score), tempo_(tempo), touch_(touch), shortest_(shortest.value()) {
    if (score.hymn) ends_ = line_ends(score);
  }

  // Strokes of one key, by start: those of voices that share it made one, repeats tied that are not struck again.
  [[nodiscard]] std::vector<Down> joined(const std::vector<Down>& strokes) const {
    std::vector<Down> out;
    for (const Down& d : strokes) {
      if (!out.empty() && (d.start < out.back().end || (d.start == out.back().end && !struck(out.back(), d)))) {
        Down& held = out.back();
        if (d.end >= held.end) {
          held.staccato = d.staccato;
          held.leaving = d.leaving;
        }
        held.end = std::max(held.end, d.end);
        continue;
      }
      out.push_back(d);
    }
    return out;
  }

  // When a key is let go; `next`: its own next stroke, seconds.
  [[nodiscard]] double off(const Down& d, std::optional<double> next) const {
    const double on = tempo_.at(d.start).value();
    const double end = tempo_.at(d.end).value();
    double off = d.staccato ? on + staccato_share * (end - on) : end;
    if (d.leaving) off = std::min(off, end - lift(std::min(leaving_share * (end - on), most_leaving)));
    if (at_line_end(d.end)) {
      const double wanted = touch_.lift_quarters * 60 / tempo_.quarters_per_minute(d.start);
      off = std::min(off, end - lift(std::min(wanted, (end - on) / 2)));
    }
    if (next) off = std::min(off, *next - shortest_);
    // A note shorter than the action's own time is pressed all the same.
    return std::max(off, on + std::min(shortest_, end - on));
  }

 private:
  [[nodiscard]] double lift(double wanted) const { return std::max(wanted, shortest_); }
  [[nodiscard]] bool at_line_end(Rational t) const { return std::binary_search(ends_.begin(), ends_.end(), t); }

  [[nodiscard]] bool struck(const Down& before, const Down& again) const {
    const double apart = (tempo_.at(again.start) - tempo_.at(before.start)).value();
    constexpr double rounding = 1e-9;
    if (apart < 2 * shortest_ - rounding) return false;  // the action could not follow
    if (!score_.hymn || at_line_end(before.end)) return true;
    const Repeat how = again.voice == Voice::tune   ? touch_.tune
                       : again.voice == Voice::bass ? touch_.bass
                                                    : touch_.inner;
    return how == Repeat::strike || (how == Repeat::by_beat && strong_beat(score_, again.start));
  }

  const Score& score_;
  const Tempo& tempo_;
  const Touch& touch_;
  double shortest_;
  std::vector<Rational> ends_;
};

bool among(const std::vector<NoteId>& notes, NoteId n) { return std::binary_search(notes.begin(), notes.end(), n); }

}  // namespace

std::string_view word(Repeat r) { return repeat_words[static_cast<std::size_t>(r)].second; }

std::string words(const Touch& t) {
  return fmt::format("tune={}, inner={}, bass={}, lift={:g}", word(t.tune), word(t.inner), word(t.bass),
                     t.lift_quarters);
}

Result<Touch> parse_touch(std::string_view text, const Touch& base) {
  Touch out = base;
  while (!trimmed(text).empty()) {
    const auto comma = text.find(',');
    const std::string_view one = trimmed(text.substr(0, comma));
    text = comma == std::string_view::npos ? std::string_view{} : text.substr(comma + 1);
    const auto equals = one.find('=');
    const std::string_view what = trimmed(one.substr(0, equals));
    const std::string_view how = equals == std::string_view::npos ? "" : trimmed(one.substr(equals + 1));
    if (what == "lift") {
      double quarters = 0;
      const auto [end, error] = std::from_chars(how.data(), how.data() + how.size(), quarters);
      if (error != std::errc{} || end != how.data() + how.size() || !(quarters >= 0 && quarters <= 2)) {
        return fail(fmt::format("a lift at a line's end lasts 0 to 2 crotchets, not \"{}\"", how));
      }
      out.lift_quarters = quarters;
      continue;
    }
    Repeat* const part = what == "tune"    ? &out.tune
                         : what == "inner" ? &out.inner
                         : what == "bass"  ? &out.bass
                                           : nullptr;
    if (part == nullptr) {
      return fail(
          fmt::format("touch is told of tune, inner, bass and lift (\"tune=repeat, lift=0.25\"), not of \"{}\"", what));
    }
    const auto found =
        std::find_if(repeat_words.begin(), repeat_words.end(), [&](const auto& w) { return w.second == how; });
    if (found == repeat_words.end()) {
      return fail(
          fmt::format("a repeated note is repeated, tied or struck on the beat: say {}=repeat, tie or beat, not "
                      "\"{}\"",
                      what, how));
    }
    *part = found->first;
  }
  return out;
}

Seconds shortest_lift(const Organ& organ) {
  const double repeats = organ.action.repeats_per_second.value;
  return Seconds{0.5 / (repeats > 0 ? repeats : 8.0)};
}

FeetTouch feet_touch(const Pedalling& pedalling, const std::vector<PedalPress>& part) {
  std::map<NoteId, const FootMark*> marks;
  for (const FootMark& m : pedalling.marks) marks[m.note] = &m;
  FeetTouch out;
  out.left_out = pedalling.left_out;
  std::sort(out.left_out.begin(), out.left_out.end());
  for (std::size_t i = 0; i + 1 < part.size(); ++i) {
    const PedalPress& now = part[i];
    const PedalPress& next = part[i + 1];
    if (next.note.start != now.note.end || next.note.key == now.note.key) continue;
    const auto to = marks.find(next.notes.front());
    std::optional<FootUse> holds;
    for (const NoteId n : now.notes) {
      if (const auto m = marks.find(n); m != marks.end()) holds = m->second->becomes.value_or(m->second->use);
    }
    if (!holds || to == marks.end()) continue;
    const FootMark& there = *to->second;
    if (there.use.foot == holds->foot && there.use.part == holds->part && !there.slide) {
      out.let_go_early.push_back(now.notes.front());
    }
  }
  std::sort(out.let_go_early.begin(), out.let_go_early.end());
  return out;
}

std::vector<KeyHeld> keys_held(const Score& score, const Tempo& tempo, const Touch& touch, Seconds shortest,
                               const FeetTouch& feet, const KeyboardAt& keyboard_at) {
  const std::vector<Press> all = presses(score);
  std::map<std::pair<KeyboardIndex, int>, std::vector<Down>> by_key;
  for (const Press& p : all) {
    const auto keyboard = keyboard_at(p.role, p.start);
    if (!keyboard || among(feet.left_out, p.notes.front())) continue;
    Down d{p.start, p.end, score.hymn ? voice_of(p, all) : Voice::inner};
    d.staccato = score.notes[p.notes.back()].staccato;
    d.leaving = among(feet.let_go_early, p.notes.front());
    by_key[{*keyboard, p.key.midi}].push_back(d);
  }
  const Keys keys(score, tempo, touch, shortest);
  std::vector<KeyHeld> out;
  for (const auto& [where, strokes] : by_key) {
    const std::vector<Down> downs = keys.joined(strokes);
    for (std::size_t i = 0; i < downs.size(); ++i) {
      std::optional<double> next;
      if (i + 1 < downs.size()) next = tempo.at(downs[i + 1].start).value();
      out.push_back({where.first, Note{where.second}, downs[i].start, tempo.at(downs[i].start),
                     Seconds{keys.off(downs[i], next)}});
    }
  }
  std::sort(out.begin(), out.end(), [](const KeyHeld& a, const KeyHeld& b) {
    return std::tuple(a.on.value(), a.keyboard, a.key.midi) < std::tuple(b.on.value(), b.keyboard, b.key.midi);
  });
  return out;
}

}  // namespace calcant
