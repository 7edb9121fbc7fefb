#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "engine/organ/sounding.hpp"
#include "engine/playing/fit_parts.hpp"

namespace calcant::fitting {

namespace {

const Keyboard& board(const Asked& a, KeyboardIndex k) { return a.organ.keyboards[static_cast<std::size_t>(k)]; }

// The presses of one stave between two breaths: rests, slurs' ends, lines' ends.
std::vector<const Press*> phrase_of(const Asked& a, const Press& p) {
  std::vector<const Press*> stave;
  for (const Press& q : a.presses) {
    if (q.stave == p.stave && q.role == p.role) stave.push_back(&q);
  }
  std::set<Rational> line_ends;
  for (const Direction& d : a.score.directions) {
    if (d.kind != Direction::Kind::line_end && d.kind != Direction::Kind::breath) continue;
    line_ends.insert(written(a.score, d.bar, d.at));
  }
  std::vector<const Press*> phrase;
  Rational sounding;
  bool mine = false;
  for (const Press* q : stave) {
    const Rational onset = onset_of(a.score, q->notes.front());
    const bool breath =
        sounding < q->start || line_ends.count(onset) > 0 ||
        (!phrase.empty() && phrase.back()->start < q->start &&
         a.score.notes[phrase.back()->notes.back()].slur_ends > 0 && a.score.notes[q->notes.front()].slur_starts > 0);
    if (breath) {
      if (mine) return phrase;
      phrase.clear();
    }
    phrase.push_back(q);
    mine |= q == &p;
    sounding = std::max(sounding, q->end);
  }
  return phrase;
}

bool all_on(const std::vector<const Press*>& phrase, const NoteSet& keys, int moved) {
  return std::all_of(phrase.begin(), phrase.end(), [&](const Press* p) { return keys.contains(p->key.midi + moved); });
}

std::string stops_of(const Asked& a, DivisionIndex division, int feet) {
  std::string out;
  for (const Stop& s : a.organ.stops) {
    if (s.division != division || s.out_of_use || s.feet.size() != 1) continue;
    if (s.feet.front() != Feet{Rational{feet}}) continue;
    out += (out.empty() ? "" : " or ") + full_name(s);
  }
  return out;
}

std::vector<std::string> remedies(const Asked& a, const Press& p, KeyboardIndex k) {
  std::vector<std::string> out;
  const Keyboard& here = board(a, k);
  const bool high = p.key.midi > here.keys.highest();
  const int octave = high ? -12 : 12;
  const std::vector<const Press*> phrase = phrase_of(a, p);
  const std::string where =
      fmt::format("{} to {}", words(a.score, first_moment(a.score, phrase.front()->notes.front())),
                  words(a.score, first_moment(a.score, phrase.back()->notes.front())));
  if (all_on(phrase, here.keys, octave)) {
    const int feet = high ? (here.pedal ? 8 : 4) : 16;
    const std::string stops = stops_of(a, here.division, feet);
    out.push_back(fmt::format("Play the whole phrase ({}) an octave {}{}.", where, high ? "lower" : "higher",
                              stops.empty() ? "" : fmt::format("; on {} alone it sounds as written", stops)));
    for (const Coupler& c : a.organ.couplers) {
      if (c.from == k && c.semitones == -octave && !c.unison_off) {
        out.push_back(fmt::format("Play the phrase an octave {} with {} drawn, which sounds it at its pitch as well.",
                                  high ? "lower" : "higher", c.name));
      }
    }
  }
  for (std::size_t other = 0; other < a.organ.keyboards.size(); ++other) {
    const Keyboard& there = a.organ.keyboards[other];
    if (static_cast<KeyboardIndex>(other) == k) continue;
    if (there.pedal == here.pedal && all_on(phrase, there.keys, 0)) {
      out.push_back(fmt::format("Play the phrase ({}) on the {}, which has the key.", where, there.name));
    } else if (here.pedal && there.keys.contains(p.key)) {
      out.push_back(fmt::format("Let a hand take it on the {}, where one is free.", there.name));
    }
  }
  const bool doubled = std::any_of(a.presses.begin(), a.presses.end(), [&](const Press& q) {
    return &q != &p && q.start <= p.start && p.start < q.end && q.key.midi % 12 == p.key.midi % 12;
  });
  out.push_back(doubled ? "Leave it out: the same note sounds in another octave."
                        : "Leave it out, as the last resort: nothing else sounds this note.");
  return out;
}

std::string stave_name(const Asked& a, int stave) {
  const std::string& n = a.score.staves[static_cast<std::size_t>(stave)].name;
  return n.empty() ? fmt::format("stave {}", stave + 1) : n;
}

}  // namespace

void keys(const Asked& a, std::vector<FitFinding>& out) {
  std::set<std::pair<NoteId, Role>> told;
  bool no_pedals = false;
  for (const Press& p : a.presses) {
    const NoteId n = p.notes.front();
    const auto k = a.keyboards.at(p.stave, p.role, onset_of(a.score, n));
    if (!k) {
      if (!no_pedals && p.role == Role::feet) {
        out.push_back({FitKind::no_pedals,
                       first_moment(a.score, n),
                       p.key,
                       n,
                       1,
                       true,
                       "There is a part for the feet, and this organ has no pedals.",
                       {"Let the left hand take the bass where it reaches.", "Choose an edition for manuals only."}});
      }
      no_pedals |= p.role == Role::feet;
      continue;
    }
    if (board(a, *k).keys.contains(p.key) || !told.insert({n, p.role}).second) continue;
    const Keyboard& here = board(a, *k);
    const bool pedal = here.pedal;
    const std::string why =
        p.key.midi > here.keys.highest()  ? fmt::format("ends at {}", name(Note{here.keys.highest()}))
        : p.key.midi < here.keys.lowest() ? fmt::format("begins at {}", name(Note{here.keys.lowest()}))
                                          : "has no such key";
    out.push_back(
        {pedal ? FitKind::outside_pedals : FitKind::outside_keyboard, first_moment(a.score, n), p.key, n, 1, true,
         fmt::format("{} is asked for in {}, and the {} {}.", name(p.key), stave_name(a, p.stave), here.name, why),
         remedies(a, p, *k)});
  }
  std::set<std::string> missing;
  for (const ManualWord& w : manual_words(a.score, a.organ)) {
    if (w.keyboard || !missing.insert(w.wanted).second) continue;
    Moment m;
    m.bar = a.score.bars[static_cast<std::size_t>(w.bar)].label;
    m.bar_index = w.bar;
    m.at = w.at;
    std::string names;
    for (const Keyboard& k : a.organ.keyboards) {
      if (!k.pedal) names += (names.empty() ? "" : " and ") + k.name;
    }
    out.push_back({FitKind::manual_missing,
                   m,
                   std::nullopt,
                   std::nullopt,
                   1,
                   false,
                   fmt::format("\"{}\" asks for the {}, and this console has {}.", w.text, w.wanted, names),
                   {fmt::format("Choose where it is played: {}.", names),
                    "Draw for that passage what comes nearest, and go back after it."}});
  }
}

namespace {

struct Wanted {
  int times = 0;
  NoteId first = 0;
};

// How often each key of each keyboard is pressed, and where first.
std::map<std::pair<KeyboardIndex, int>, Wanted> wanted(const Asked& a) {
  std::map<std::pair<KeyboardIndex, int>, Wanted> out;
  for (const Press& p : a.presses) {
    const auto k = a.keyboards.at(p.stave, p.role, onset_of(a.score, p.notes.front()));
    if (!k || !board(a, *k).keys.contains(p.key)) continue;
    Wanted& w = out[{*k, p.key.midi}];
    if (w.times++ == 0) w.first = p.notes.front();
  }
  return out;
}

bool drawn(const Asked& a, std::size_t stop) { return !a.wishes.drawn || a.wishes.drawn->stops[stop]; }

std::vector<std::string> instead_of(const Asked& a, std::size_t index) {
  std::vector<std::string> out;
  const Stop& s = a.organ.stops[index];
  for (std::size_t i = 0; i < a.organ.stops.size(); ++i) {
    const Stop& o = a.organ.stops[i];
    if (i == index || o.division != s.division || o.out_of_use || o.feet != s.feet || o.celeste) continue;
    out.push_back(fmt::format("Draw {} instead.", full_name(o)));
  }
  out.push_back(fmt::format("Do without {}.", full_name(s)));
  return out;
}

void dead(const Asked& a, const std::map<std::pair<KeyboardIndex, int>, Wanted>& all, std::vector<FitFinding>& out) {
  for (std::size_t i = 0; i < a.organ.stops.size(); ++i) {
    const Stop& s = a.organ.stops[i];
    if (!drawn(a, i)) continue;
    if (s.out_of_use) {
      if (!a.wishes.drawn) continue;
      out.push_back({FitKind::out_of_use, moment_at(a.score, Rational{}), std::nullopt, std::nullopt, 1, true,
                     fmt::format("{} is out of use today.", full_name(s)), instead_of(a, i)});
      continue;
    }
    for (const auto& [where, w] : all) {
      if (board(a, where.first).division != s.division) continue;
      for (const StopPart& part : s.parts) {
        if (where.second < part.from.midi || part.to.midi < where.second) continue;
        const auto rank = static_cast<std::size_t>(part.rank);
        const int pipe = where.second + part.step - a.organ.ranks[rank].low_key.midi + 1;
        if (rank >= a.organ.dead.size() || !a.organ.dead[rank].contains(pipe)) continue;
        std::vector<std::string> ways = instead_of(a, i);
        ways.insert(ways.end() - 1, "Play the passage on another manual.");
        out.push_back(
            {FitKind::dead_note, first_moment(a.score, w.first), Note{where.second}, w.first, w.times, false,
             fmt::format("{} of {} does not speak today, and the piece wants it {}.", name(Note{where.second}),
                         full_name(s), w.times == 1 ? "once" : fmt::format("{} times", w.times)),
             ways});
      }
    }
  }
}

// Keys of a registration that reach no pipe, gathered by stop and reason.
void missing(const Asked& a, const std::map<std::pair<KeyboardIndex, int>, Wanted>& all, std::vector<FitFinding>& out) {
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
                            : std::vector<std::string>{"Draw a stop that goes through as well."};
    out.push_back(f);
  }
}

}  // namespace

void pipes(const Asked& a, std::vector<FitFinding>& out) {
  const auto all = wanted(a);
  dead(a, all, out);
  if (a.wishes.drawn) missing(a, all, out);
}

}  // namespace calcant::fitting
