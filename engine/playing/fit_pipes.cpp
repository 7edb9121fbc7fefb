#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "engine/organ/sounding.hpp"
#include "engine/playing/fit_parts.hpp"

namespace calcant::fitting {

namespace {

struct Wanted {
  int times = 0;
  NoteId first = 0;
};
using WantedKeys = std::map<std::pair<KeyboardIndex, int>, Wanted>;

// How often each key of each keyboard is pressed, and where first.
WantedKeys wanted(const Asked& a) {
  WantedKeys out;
  for (const Press& p : a.presses) {
    const auto k = a.keyboards.at(p.stave, p.role, onset_of(a.score, p.notes.front()));
    if (!k || !board(a, *k).keys.contains(p.key)) continue;
    Wanted& w = out[{*k, p.key.midi}];
    if (w.times++ == 0) w.first = p.notes.front();
  }
  return out;
}

bool drawn(const Asked& a, std::size_t stop) { return !a.wishes.drawn || a.wishes.drawn->stops[stop]; }

// How often pipes that do not speak are wanted of one stop with these couplers drawn: what the organ in order would
// sound and that of the day does not, key by key.
class DeadPipes {
 public:
  DeadPipes(const Asked& a, const WantedKeys& all)
      : score_(a.score), all_(all), whole_(in_order(a.organ)), would_(whole_), does_(a.organ) {}

  // Whether all that this stop has for a key speaks, and that it has something.
  bool speaks(std::size_t stop, KeyboardIndex keyboard, int key) {
    Registration drawn;
    drawn.stops.set(stop);
    KeysDown down;
    down.keys[static_cast<std::size_t>(keyboard)].insert(key);
    would_.pipes(drawn, down, would_sound_);
    does_.pipes(drawn, down, does_sound_);
    const auto empty = [](const NoteSet& s) { return s.empty(); };
    return would_sound_.ranks == does_sound_.ranks &&
           !std::all_of(does_sound_.ranks.begin(), does_sound_.ranks.end(), empty);
  }

  std::map<PipeId, Wanted> of(std::size_t stop, const Registration& with) {
    Registration drawn = with;
    drawn.stops.reset();
    drawn.stops.set(stop);
    std::map<PipeId, Wanted> out;
    for (const auto& [where, w] : all_) {
      KeysDown down;
      down.keys[static_cast<std::size_t>(where.first)].insert(where.second);
      would_.pipes(drawn, down, would_sound_);
      does_.pipes(drawn, down, does_sound_);
      for (std::size_t r = 0; r < would_sound_.ranks.size(); ++r) {
        for (const int n : would_sound_.ranks[r] - does_sound_.ranks[r]) {
          Wanted& pipe = out[{static_cast<RankIndex>(r), n}];
          if (pipe.times == 0 || onset_of(score_, w.first) < onset_of(score_, pipe.first)) pipe.first = w.first;
          pipe.times += w.times;
        }
      }
    }
    return out;
  }

 private:
  static Organ in_order(Organ o) {
    o.dead.clear();
    return o;
  }
  const Score& score_;
  const WantedKeys& all_;
  Organ whole_;
  Sounding would_;
  Sounding does_;
  PipeSet would_sound_;
  PipeSet does_sound_;
};

// The ways by which a dead pipe is wanted: by the keys of its own manual, and through each coupler.
struct ByWay {
  Wanted direct;
  std::vector<std::pair<CouplerIndex, Wanted>> through;
  [[nodiscard]] const Wanted& first() const { return direct.times > 0 ? direct : through.front().second; }
};

// Stops of the same division and length that speak on these keys.
std::vector<std::string> instead_of(const Asked& a, DeadPipes& pipes, std::size_t index, const std::vector<int>& keys) {
  std::vector<std::string> out;
  const Stop& s = a.organ.stops[index];
  const auto home = a.organ.divisions[static_cast<std::size_t>(s.division)].keyboard;
  for (std::size_t i = 0; i < a.organ.stops.size(); ++i) {
    const Stop& o = a.organ.stops[i];
    if (i == index || o.division != s.division || o.out_of_use || o.feet != s.feet || o.celeste) continue;
    const bool goes = !home || std::all_of(keys.begin(), keys.end(), [&](int k) { return pipes.speaks(i, *home, k); });
    if (goes) out.push_back(fmt::format("Draw {} instead.", full_name(o)));
  }
  return out;
}

std::string times(int n) { return n == 1 ? "once" : fmt::format("{} times", n); }

void tell_dead(const Asked& a, DeadPipes& pipes, std::size_t stop, PipeId pipe, const ByWay& by,
               std::vector<FitFinding>& out) {
  const Stop& s = a.organ.stops[stop];
  FitFinding f;
  f.kind = FitKind::dead_note;
  f.written = by.first().first;
  f.moment = first_moment(a.score, *f.written);
  f.note = a.score.notes[*f.written].note;
  f.times = by.direct.times > 0 ? by.direct.times : by.first().times;
  f.hinders = false;
  f.if_drawn = !a.wishes.drawn;
  f.message = fmt::format("{} of {} does not speak today", name(key_of(a.organ, pipe)), full_name(s));
  if (by.direct.times > 0) f.message += fmt::format(", and the piece wants it {}", times(by.direct.times));
  if (by.direct.times == 0) f.message += ", and the piece wants it";
  for (const auto& [c, w] : by.through) {
    f.message += fmt::format("{} {} {} {}", by.direct.times > 0 || c != by.through.front().first ? "," : "",
                             times(w.times), by.direct.times > 0 ? "more through" : "through",
                             a.organ.couplers[static_cast<std::size_t>(c)].name);
  }
  f.message += ".";
  const auto home = a.organ.divisions[static_cast<std::size_t>(s.division)].keyboard;
  f.remedies = instead_of(a, pipes, stop, {f.note->midi});
  if (by.direct.times > 0 && home && !board(a, *home).pedal) {
    for (const KeyboardIndex k : manuals(a.organ)) {
      if (k == *home || !board(a, k).keys.contains(*f.note)) continue;
      f.remedies.push_back(fmt::format("Play the passage on the {}.", board(a, k).name));
    }
  }
  for (const auto& [c, w] : by.through)
    f.remedies.push_back(
        fmt::format("Put {} in for that passage.", a.organ.couplers[static_cast<std::size_t>(c)].name));
  f.remedies.push_back(fmt::format("Do without {}.", full_name(s)));
  out.push_back(std::move(f));
}

// Ways through one coupler alone, less what the keys reach without it.
void through_couplers(const Asked& a, DeadPipes& pipes, std::size_t stop, std::map<PipeId, ByWay>& by) {
  for (std::size_t c = 0; c < a.organ.couplers.size(); ++c) {
    if (a.organ.couplers[c].to != a.organ.stops[stop].division || a.organ.couplers[c].unison_off) continue;
    Registration with;
    with.couplers.set(c);
    for (const auto& [pipe, w] : pipes.of(stop, with)) {
      const auto known = by.find(pipe);
      const int direct = known == by.end() ? 0 : known->second.direct.times;
      if (w.times > direct) {
        by[pipe].through.emplace_back(static_cast<CouplerIndex>(c), Wanted{w.times - direct, w.first});
      }
    }
  }
}

// The keys that the piece presses on a stop's own keyboard.
std::vector<int> keys_of(const Asked& a, const WantedKeys& all, std::size_t stop) {
  const auto home = a.organ.divisions[static_cast<std::size_t>(a.organ.stops[stop].division)].keyboard;
  std::vector<int> out;
  for (const auto& [where, w] : all) {
    if (where.first == home) out.push_back(where.second);
  }
  return out;
}

void dead(const Asked& a, const WantedKeys& all, std::vector<FitFinding>& out) {
  DeadPipes pipes(a, all);
  for (std::size_t i = 0; i < a.organ.stops.size(); ++i) {
    const Stop& s = a.organ.stops[i];
    if (!drawn(a, i)) continue;
    if (s.out_of_use) {
      if (!a.wishes.drawn) continue;
      out.push_back({FitKind::out_of_use, moment_at(a.score, Rational{}), std::nullopt, std::nullopt, 1, true,
                     fmt::format("{} is out of use today.", full_name(s)),
                     instead_of(a, pipes, i, keys_of(a, all, i))});
      out.back().remedies.push_back(fmt::format("Do without {}.", full_name(s)));
      continue;
    }
    const bool all_speak = std::all_of(s.parts.begin(), s.parts.end(), [&](const StopPart& part) {
      const auto rank = static_cast<std::size_t>(part.rank);
      return rank >= a.organ.dead.size() || a.organ.dead[rank].empty();
    });
    if (all_speak) continue;
    std::map<PipeId, ByWay> by;
    for (const auto& [pipe, w] : pipes.of(i, a.wishes.drawn.value_or(Registration{}))) by[pipe].direct = w;
    if (!a.wishes.drawn) through_couplers(a, pipes, i, by);
    for (const auto& [pipe, ways] : by) tell_dead(a, pipes, i, pipe, ways, out);
  }
}

// Where a coupler asks for notes that its division has no pipes for, while the key itself has them.
struct RunsOut {
  int times = 0;
  int low = 128;
  int high = -1;
  NoteId first = 0;
  std::set<StopIndex> stops;
};

RunsOut runs_out(const Asked& a, const WantedKeys& all, CouplerIndex coupler) {
  const Coupler& c = a.organ.couplers[static_cast<std::size_t>(coupler)];
  Registration with;
  for (std::size_t s = 0; s < a.organ.stops.size(); ++s) {
    if (a.organ.stops[s].division == c.to && !a.organ.stops[s].out_of_use) with.stops.set(s);
  }
  Registration without = with;
  with.couplers.set(static_cast<std::size_t>(coupler));
  const auto home = a.organ.divisions[static_cast<std::size_t>(c.to)].keyboard;
  RunsOut out;
  const auto silent = [&](const Registration& r, KeyboardIndex k, int key, bool coupled) {
    KeysDown down;
    down.keys[static_cast<std::size_t>(k)].insert(key);
    std::set<StopIndex> stops;
    for (const MissingPipe& m : explain(a.organ, r, down).missing) {
      const bool moved = m.note.midi != key || board(a, k).division != c.to;
      if (m.why != "dead" && moved == coupled) stops.insert(m.stop);
    }
    return stops;
  };
  for (const auto& [where, w] : all) {
    if (where.first != c.from) continue;
    std::set<StopIndex> stops = silent(with, where.first, where.second, true);
    // A stop that has no pipe for the key itself is short, whatever is coupled.
    if (home && board(a, *home).keys.contains(where.second)) {
      for (const StopIndex s : silent(without, *home, where.second, false)) stops.erase(s);
    }
    if (stops.empty()) continue;
    if (out.times == 0 || onset_of(a.score, w.first) < onset_of(a.score, out.first)) out.first = w.first;
    out.times += w.times;
    out.low = std::min(out.low, where.second);
    out.high = std::max(out.high, where.second);
    out.stops.merge(stops);
  }
  return out;
}

void couplers(const Asked& a, const WantedKeys& all, std::vector<FitFinding>& out) {
  for (std::size_t i = 0; i < a.organ.couplers.size(); ++i) {
    const Coupler& c = a.organ.couplers[i];
    if (c.unison_off) continue;
    const RunsOut r = runs_out(a, all, static_cast<CouplerIndex>(i));
    if (r.times == 0) continue;
    FitFinding f;
    f.kind = FitKind::coupler_runs_out;
    f.moment = first_moment(a.score, r.first);
    f.note = a.score.notes[r.first].note;
    f.written = r.first;
    f.times = r.times;
    f.hinders = false;
    f.if_drawn = true;
    const std::string keys =
        r.low == r.high ? name(Note{r.low}) : fmt::format("keys from {} to {}", name(Note{r.low}), name(Note{r.high}));
    f.message = fmt::format("{} brings nothing for {} on {} stop{} of the {}.", c.name, keys, r.stops.size(),
                            r.stops.size() == 1 ? "" : "s", a.organ.divisions[static_cast<std::size_t>(c.to)].name);
    f.remedies = {"Leave it drawn: the notes sound on what is not coupled, and are thinner than their neighbours.",
                  "Put the coupler in for this passage."};
    out.push_back(std::move(f));
  }
}

// Stops of its division and length that have pipes from one key to the other.
std::vector<std::string> goes_through(const Asked& a, StopIndex stop, int low, int high) {
  std::vector<std::string> out;
  const Stop& s = a.organ.stops[static_cast<std::size_t>(stop)];
  const auto home = a.organ.divisions[static_cast<std::size_t>(s.division)].keyboard;
  for (std::size_t i = 0; home && i < a.organ.stops.size(); ++i) {
    const Stop& o = a.organ.stops[i];
    if (static_cast<StopIndex>(i) == stop || o.division != s.division || o.out_of_use || o.feet != s.feet) continue;
    if (a.wishes.drawn->stops[i]) continue;
    Registration alone;
    alone.stops.set(i);
    KeysDown down;
    down.keys[static_cast<std::size_t>(*home)] = board(a, *home).keys & NoteSet::range(low, high);
    if (explain(a.organ, alone, down).missing.empty())
      out.push_back(fmt::format("Draw {} as well, which goes through.", full_name(o)));
  }
  out.emplace_back("Leave it: what else is drawn sounds there.");
  return out;
}

// Keys of a registration that reach no pipe, gathered by stop and reason.
void missing(const Asked& a, const WantedKeys& all, std::vector<FitFinding>& out) {
  struct Gathered {
    FitFinding finding;
    int keys = 0;
    int low = 128;
    int high = -1;
    NoteId first = 0;
  };
  std::map<std::pair<StopIndex, bool>, Gathered> by_stop;
  for (const auto& [where, w] : all) {
    KeysDown down;
    down.keys[static_cast<std::size_t>(where.first)].insert(where.second);
    for (const MissingPipe& m : explain(a.organ, *a.wishes.drawn, down).missing) {
      if (m.why == "dead" || m.why == "out of use") continue;
      const Stop& s = a.organ.stops[static_cast<std::size_t>(m.stop)];
      const bool coupled = m.note != m.key || board(a, where.first).division != s.division;
      Gathered& g = by_stop[{m.stop, coupled}];
      if (g.keys++ == 0 || onset_of(a.score, w.first) < onset_of(a.score, g.first)) g.first = w.first;
      g.low = std::min(g.low, where.second);
      g.high = std::max(g.high, where.second);
      g.finding.times = g.keys == 1 ? w.times : g.finding.times + w.times;
      g.finding.message = m.why;
    }
  }
  for (auto& [key, g] : by_stop) {
    const Stop& s = a.organ.stops[static_cast<std::size_t>(key.first)];
    FitFinding& f = g.finding;
    f.kind = key.second ? FitKind::coupler_runs_out : FitKind::stop_short;
    f.moment = first_moment(a.score, g.first);
    f.note = a.score.notes[g.first].note;
    f.written = g.first;
    f.hinders = false;
    const std::string keys =
        g.low == g.high ? name(Note{g.low}) : fmt::format("keys from {} to {}", name(Note{g.low}), name(Note{g.high}));
    f.message =
        fmt::format("{}{} is silent for {}: {}.", full_name(s), key.second ? ", coupled," : "", keys, f.message);
    f.remedies = key.second ? std::vector<std::string>{"Put the coupler in for this passage.",
                                                       "Leave it: the note sounds on what is not coupled."}
                            : goes_through(a, key.first, g.low, g.high);
    out.push_back(f);
  }
}

}  // namespace

void pipes(const Asked& a, std::vector<FitFinding>& out) {
  const auto all = wanted(a);
  dead(a, all, out);
  if (a.wishes.drawn) missing(a, all, out);
  else couplers(a, all, out);
}

}  // namespace calcant::fitting
