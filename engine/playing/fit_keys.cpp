#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "engine/playing/fit_parts.hpp"

namespace calcant::fitting {

namespace {

using Presses = std::vector<const Press*>;

// Times at which singers or players breathe: ends of lines and breath marks, in written quarters.
std::set<Rational> breaths(const Score& s) {
  std::set<Rational> out;
  for (const Direction& d : s.directions) {
    if (d.kind == Direction::Kind::line_end || d.kind == Direction::Kind::breath) out.insert(written(s, d.bar, d.at));
  }
  return out;
}

// Whether a slur ends before `next` and another begins with it.
bool slurs_part(const Asked& a, const Press& last, const Press& next) {
  return last.start < next.start && a.score.notes[last.notes.back()].slur_ends > 0 &&
         a.score.notes[next.notes.front()].slur_starts > 0;
}

// The presses of one stave between two breaths: rests, slurs' ends, lines' ends.
Presses between_breaths(const Asked& a, const Press& p) {
  const std::set<Rational> breathed = breaths(a.score);
  Presses phrase;
  Rational sounding;
  bool mine = false;
  for (const Press& q : a.presses) {
    if (q.stave != p.stave || q.role != p.role) continue;
    const bool breath = sounding < q.start || breathed.count(onset_of(a.score, q.notes.front())) > 0 ||
                        (!phrase.empty() && slurs_part(a, *phrase.back(), q));
    if (breath) {
      if (mine) return phrase;
      phrase.clear();
    }
    phrase.push_back(&q);
    mine |= &q == &p;
    sounding = std::max(sounding, q.end);
  }
  return phrase;
}

// Where running music has no breath it is cut at the nearest bar or after the nearest longer note.
bool joint(const Asked& a, const Press& last, const Press& next) {
  if (next.start <= last.start) return false;
  return a.score.notes[next.notes.front()].at == Rational{} || next.end - next.start < last.end - last.start;
}

constexpr int longest_phrase = 16;  // quarters moved as one at most; a longer one is cut

struct Phrase {
  Presses presses;
  bool cut = false;  // in the middle of running music
};

Phrase phrase_of(const Asked& a, const Press& p) {
  Phrase out{between_breaths(a, p), false};
  Presses& all = out.presses;
  if (all.back()->end - all.front()->start <= Rational{longest_phrase}) return out;
  out.cut = true;
  auto mine = static_cast<std::size_t>(std::find(all.begin(), all.end(), &p) - all.begin());
  std::size_t from = mine;
  while (from > 0 && !joint(a, *all[from - 1], *all[from])) --from;
  std::size_t to = mine + 1;
  while (to < all.size() && !joint(a, *all[to - 1], *all[to])) ++to;
  all = Presses(all.begin() + static_cast<std::ptrdiff_t>(from), all.begin() + static_cast<std::ptrdiff_t>(to));
  return out;
}

bool all_on(const Presses& phrase, const NoteSet& keys, int moved) {
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

// Ways to have the phrase in another octave: here, elsewhere with a stop that puts it right, with an octave coupler.
void octave_remedies(const Asked& a, const Press& p, KeyboardIndex k, const Phrase& phrase, const std::string& where,
                     std::vector<std::string>& out) {
  const Keyboard& here = board(a, k);
  const bool high = p.key.midi > here.keys.highest();
  const int octave = high ? -12 : 12;
  const int feet = high ? (here.pedal ? 8 : 4) : 16;
  const std::string_view way = high ? "lower" : "higher";
  if (all_on(phrase.presses, here.keys, octave)) {
    const std::string stops = stops_of(a, here.division, feet);
    out.push_back(fmt::format("Play {} an octave {}{}{}.", where, way,
                              stops.empty() ? "" : fmt::format("; on {} alone it sounds as written", stops),
                              phrase.cut ? " (no breath is near: cut at a bar or after a longer note)" : ""));
    for (const Coupler& c : a.organ.couplers) {
      if (c.from == k && c.semitones == -octave && !c.unison_off) {
        out.push_back(
            fmt::format("Play it an octave {} with {} drawn, which sounds it at its pitch as well.", way, c.name));
      }
    }
  }
  for (std::size_t other = 0; other < a.organ.keyboards.size(); ++other) {
    const Keyboard& there = a.organ.keyboards[other];
    if (static_cast<KeyboardIndex>(other) == k || there.pedal != here.pedal) continue;
    const std::string stops = stops_of(a, there.division, feet);
    if (stops.empty() || !all_on(phrase.presses, there.keys, octave)) continue;
    out.push_back(
        fmt::format("Play it an octave {} on the {} with {} alone: it sounds as written.", way, there.name, stops));
  }
}

std::vector<std::string> remedies(const Asked& a, const Press& p, KeyboardIndex k) {
  std::vector<std::string> out;
  const Keyboard& here = board(a, k);
  const Phrase phrase = phrase_of(a, p);
  const std::string where = fmt::format("the {}phrase ({} to {})", phrase.cut ? "" : "whole ",
                                        words(a.score, first_moment(a.score, phrase.presses.front()->notes.front())),
                                        words(a.score, first_moment(a.score, phrase.presses.back()->notes.front())));
  octave_remedies(a, p, k, phrase, where, out);
  for (std::size_t other = 0; other < a.organ.keyboards.size(); ++other) {
    const Keyboard& there = a.organ.keyboards[other];
    if (static_cast<KeyboardIndex>(other) == k) continue;
    if (there.pedal == here.pedal && all_on(phrase.presses, there.keys, 0)) {
      out.push_back(fmt::format("Play {} on the {}, which has the key.", where, there.name));
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
}

}  // namespace calcant::fitting
