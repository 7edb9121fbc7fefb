#include "files/midi/midi.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>

#include "engine/score/lines.hpp"
#include "files/midi/events.hpp"

namespace calcant {
namespace {

using namespace midi;

constexpr std::size_t most_bars = 5'000;
constexpr std::size_t most_pieces = 400'000;  // notes cut at barlines

// A note in quarters, on its stave.
struct Struck {
  Rational from;
  Rational to;
  int stave = 0;
  int key = 0;
};

class Builder {
 public:
  Builder(const File& file, const MidiOptions& options) : file_(file), options_(options) {}

  Result<Score> go(const RoleOverrides& overrides) {
    staves();
    if (struck_.empty()) return fail("the MIDI file has no notes");
    if (auto ok = bars(); !ok) return tl::unexpected(ok.error());
    if (auto ok = notes(); !ok) return tl::unexpected(ok.error());
    tempos();
    for (std::size_t b = 0; b < s_.bars.size(); ++b) s_.turns.push_back({static_cast<int>(b), 1, s_.bars[b].start});
    remarks();
    if (auto ok = players(overrides); !ok) return tl::unexpected(ok.error());
    find_lines(s_);
    return std::move(s_);
  }

 private:
  [[nodiscard]] Rational exact(std::int64_t ticks) const { return Rational{ticks} * file_.quarters_a_tick; }

  Rational placed(std::int64_t ticks) {
    const Rational at = exact(ticks);
    if (options_.grid <= Rational{}) return at;
    const Rational steps = at / options_.grid;
    const std::int64_t nearest = (2 * steps.num() + steps.den()) / (2 * steps.den());
    const Rational on_grid = options_.grid * Rational{nearest};
    const Rational off = on_grid > at ? on_grid - at : at - on_grid;
    if (off > Rational{}) {
      ++moved_;
      furthest_ = std::max(furthest_, off);
    }
    return on_grid;
  }

  // One stave for each track, and for each channel of a track that has several.
  void staves() {
    std::map<std::pair<int, int>, int> index;
    for (std::size_t t = 0; t < file_.tracks.size(); ++t) {
      const Track& track = file_.tracks[t];
      const int tracked = file_.format == 2 ? 0 : static_cast<int>(t);
      std::map<int, bool> channels;
      for (const NoteEvent& n : track.notes) channels[n.channel] = true;
      for (const auto& [channel, used] : channels) {
        const auto [at, fresh] = index.try_emplace({tracked, channel}, static_cast<int>(s_.staves.size()));
        if (!fresh) continue;
        Stave stave;
        stave.part = at->second;
        stave.name = track.name;
        if (channels.size() > 1) stave.name += fmt::format("{}channel {}", stave.name.empty() ? "" : ", ", channel + 1);
        s_.staves.push_back(std::move(stave));
      }
      for (const NoteEvent& n : track.notes) {
        Struck k;
        k.from = placed(n.from);
        k.to = placed(n.to);
        if (k.to <= k.from) k.to = k.from + (options_.grid > Rational{} ? options_.grid : Rational{1, 64});
        k.stave = index[{tracked, n.channel}];
        k.key = n.key;
        struck_.push_back(k);
      }
      if (track.notes.empty() && s_.title.empty() && file_.format == 1) s_.title = track.name;
    }
  }

  Result<void> bars() {
    Rational end;
    for (const Struck& k : struck_) end = std::max(end, k.to);
    std::vector<TimeEvent> times = file_.times;
    std::stable_sort(times.begin(), times.end(), [](const TimeEvent& a, const TimeEvent& b) { return a.at < b.at; });
    std::vector<KeyEvent> keys = file_.keys;
    std::stable_sort(keys.begin(), keys.end(), [](const KeyEvent& a, const KeyEvent& b) { return a.at < b.at; });
    Rational start;
    std::size_t time = 0;
    std::size_t key = 0;
    Bar bar;
    while (start < end) {
      if (s_.bars.size() >= most_bars) {
        return fail(fmt::format("the MIDI file is longer than {} bars", most_bars));
      }
      for (; time < times.size() && exact(times[time].at) <= start; ++time) {
        bar.beats = times[time].beats;
        bar.beat_type = times[time].beat_type;
      }
      for (; key < keys.size() && exact(keys[key].at) <= start; ++key) bar.fifths = keys[key].fifths;
      bar.label = fmt::format("{}", s_.bars.size() + 1);
      bar.start = start;
      bar.length = Rational{4 * bar.beats, bar.beat_type};
      // A new time signature in the middle of a bar begins a bar.
      if (time < times.size()) {
        const Rational change = exact(times[time].at);
        if (change > start && change < start + bar.length) bar.length = change - start;
      }
      start += bar.length;
      s_.bars.push_back(bar);
    }
    return {};
  }

  static void spell(WrittenNote& n, int fifths) {
    static constexpr std::string_view sharp_steps = "CCDDEFFGGAAB";
    static constexpr std::string_view flat_steps = "CDDEEFGGAABB";
    static constexpr std::array<int, 12> black{0, 1, 0, 1, 0, 0, 1, 0, 1, 0, 1, 0};
    const auto pitch = static_cast<std::size_t>(n.note.midi % 12);
    n.step = fifths >= 0 ? sharp_steps[pitch] : flat_steps[pitch];
    n.alter = black[pitch] == 0 ? 0 : fifths >= 0 ? 1 : -1;
  }

  Result<void> notes() {
    for (const Struck& k : struck_) {
      auto bar = std::upper_bound(s_.bars.begin(), s_.bars.end(), k.from,
                                  [](const Rational& t, const Bar& b) { return t < b.start; }) -
                 1;
      Rational from = k.from;
      bool tied = false;
      while (from < k.to && bar != s_.bars.end()) {
        const Rational end = std::min(k.to, bar->start + bar->length);
        WrittenNote n;
        n.stave = k.stave;
        n.bar = static_cast<int>(bar - s_.bars.begin());
        n.at = from - bar->start;
        n.length = end - from;
        n.note = Note{k.key};
        n.tie_from = tied;
        n.tie_to = end < k.to;
        spell(n, bar->fifths);
        s_.notes.push_back(std::move(n));
        if (s_.notes.size() > most_pieces) return fail("the MIDI file's notes last too long");
        tied = true;
        from = end;
        ++bar;
      }
    }
    std::stable_sort(s_.notes.begin(), s_.notes.end(), [](const WrittenNote& a, const WrittenNote& b) {
      if (a.bar != b.bar) return a.bar < b.bar;
      if (a.at != b.at) return a.at < b.at;
      if (a.stave != b.stave) return a.stave < b.stave;
      return a.note < b.note;
    });
    for (std::size_t i = 0; i < s_.notes.size(); ++i) s_.notes[i].id = static_cast<NoteId>(i);
    return {};
  }

  void tempos() {
    const auto add = [&](Rational at, double quarters_per_minute) {
      if (at >= s_.bars.back().start + s_.bars.back().length) return;
      const auto bar = std::upper_bound(s_.bars.begin(), s_.bars.end(), at,
                                        [](const Rational& t, const Bar& b) { return t < b.start; }) -
                       1;
      Direction d;
      d.kind = Direction::Kind::tempo;
      d.bar = static_cast<int>(bar - s_.bars.begin());
      d.at = at - bar->start;
      d.quarters_per_minute = quarters_per_minute;
      s_.directions.push_back(std::move(d));
    };
    if (file_.clock_time) {
      add(Rational{}, 120);
      return;
    }
    std::vector<TempoEvent> all = file_.tempos;
    std::stable_sort(all.begin(), all.end(), [](const TempoEvent& a, const TempoEvent& b) { return a.at < b.at; });
    for (const TempoEvent& t : all) add(exact(t.at), 60e6 / t.microseconds_a_quarter);
  }

  void remarks() {
    if (moved_ > 0) {
      s_.remarks.push_back(
          fmt::format("Beginnings and ends of notes were moved to the nearest 1/{} of a quarter ({} of them, "
                      "by {:.3f} quarters at most).",
                      (Rational{1} / options_.grid).num(), moved_, furthest_.to_double()));
    }
    if (file_.clock_time) {
      s_.remarks.emplace_back(
          "This MIDI file counts seconds, not beats; half a second was taken as a quarter, so its bars "
          "may mean nothing.");
    }
    if (file_.format == 2)
      s_.remarks.emplace_back("The tracks of this MIDI file stand for themselves; they were put one after the other.");
    if (file_.cut_off) s_.remarks.emplace_back("The MIDI file is damaged or cut off; what could be read was read.");
    if (file_.unended > 0)
      s_.remarks.push_back(fmt::format("{} notes were never let go; they end with their track.", file_.unended));
    if (file_.overlapping > 0) {
      s_.remarks.push_back(fmt::format("{} notes were struck again while they sounded.", file_.overlapping));
    }
  }

  Result<void> players(const RoleOverrides& overrides) {
    std::vector<double> sum(s_.staves.size(), 0);
    std::vector<int> count(s_.staves.size(), 0);
    for (const Struck& k : struck_) {
      sum[static_cast<std::size_t>(k.stave)] += k.key;
      ++count[static_cast<std::size_t>(k.stave)];
    }
    if (auto ok = assign_roles(s_); !ok) return ok;
    const bool feet_named =
        std::any_of(s_.staves.begin(), s_.staves.end(), [](const Stave& st) { return st.role == Role::feet; });
    const auto hands = std::count_if(s_.staves.begin(), s_.staves.end(), [](const Stave& st) {
      return st.role == Role::right_hand || st.role == Role::left_hand || st.role == Role::either_hand;
    });
    std::vector<std::size_t> hand;
    for (std::size_t i = 0; i < s_.staves.size(); ++i) {
      if (s_.staves[i].role != Role::feet && s_.staves[i].role != Role::not_played) hand.push_back(i);
    }
    if (hands == 2) {
      // The higher of two tracks is the right hand's, wherever it stands in the file.
      const double a = sum[hand[0]] / std::max(1, count[hand[0]]);
      const double b = sum[hand[1]] / std::max(1, count[hand[1]]);
      s_.staves[hand[a >= b ? 0 : 1]].role = Role::right_hand;
      s_.staves[hand[a >= b ? 0 : 1]].role_reason = "higher of two tracks for the hands";
      s_.staves[hand[a >= b ? 1 : 0]].role = Role::left_hand;
      s_.staves[hand[a >= b ? 1 : 0]].role_reason = "lower of two tracks for the hands";
    } else if (!feet_named && s_.staves.size() > 2) {
      for (const std::size_t i : hand) {
        s_.staves[i].role = Role::either_hand;
        s_.staves[i].role_reason = "a MIDI track whose name says nothing";
      }
      s_.remarks.emplace_back(
          "A MIDI file does not say who plays its tracks; say which the feet play, such as 3=feet.");
    }
    for (const RoleOverride& o : overrides) {
      if (o.stave < 0 || o.stave >= static_cast<int>(s_.staves.size())) {
        return fail(fmt::format("there is no stave {}; this score has {}", o.stave + 1, s_.staves.size()));
      }
      s_.staves[static_cast<std::size_t>(o.stave)].role = o.role;
      s_.staves[static_cast<std::size_t>(o.stave)].role_reason = "as you said";
    }
    s_.hymn = looks_like_hymn(s_);
    return {};
  }

  const File& file_;
  const MidiOptions& options_;
  Score s_;
  std::vector<Struck> struck_;
  int moved_ = 0;
  Rational furthest_;
};

}  // namespace

Result<Score> read_midi(std::string_view bytes, std::string_view filename, const RoleOverrides& overrides,
                        const MidiOptions& options) {
  const auto file = midi::events(bytes, filename);
  if (!file) return tl::unexpected(file.error());
  auto score = Builder(*file, options).go(overrides);
  if (!score && score.error().where.empty()) return fail(score.error().message, std::string(filename));
  return score;
}

}  // namespace calcant
