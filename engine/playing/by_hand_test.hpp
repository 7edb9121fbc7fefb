// Scores and organs written out by hand, for the tests of this part.
#pragma once

#include <algorithm>
#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/score/score.hpp"

namespace calcant::by_hand {

struct Played {
  int midi;
  Rational onset;  // written quarters
  Rational length;
  int stave = 0;
  bool tie_from = false;
  bool tie_to = false;
};

// Bars of `bar` quarters each, played once through; staves have the roles given.
[[nodiscard]] Score score(const std::vector<Played>& notes, const std::vector<Role>& roles, Rational bar = Rational{4});
// Notes of one length one after the other, from the beginning.
[[nodiscard]] std::vector<Played> line(const std::vector<int>& midi, Rational length, int stave = 0);

// An invented village organ: Great and Swell C2 to G5 (56 notes), Pedal C2 to F4 (30), one 8 ft stop each and a 4 ft on
// the Swell (56 pipes), Swell to Great, Swell Octave on itself, Great to Pedal; a lever swell pedal with hitches shut and
// open.
[[nodiscard]] Organ village();

inline Score score(const std::vector<Played>& notes, const std::vector<Role>& roles, Rational bar) {
  Score s;
  for (std::size_t i = 0; i < roles.size(); ++i) {
    Stave stave;
    stave.number = static_cast<int>(i) + 1;
    stave.role = roles[i];
    s.staves.push_back(stave);
  }
  Rational end;
  for (const Played& p : notes) end = std::max(end, p.onset + p.length);
  for (Rational at; at < end; at += bar) {
    Bar b;
    b.label = std::to_string(s.bars.size() + 1);
    b.start = at;
    b.length = bar;
    s.turns.push_back({static_cast<int>(s.bars.size()), 1, at});
    s.bars.push_back(b);
  }
  std::vector<Played> sorted = notes;
  std::stable_sort(sorted.begin(), sorted.end(), [](const Played& a, const Played& b) {
    if (a.onset != b.onset) return a.onset < b.onset;
    return a.stave != b.stave ? a.stave < b.stave : a.midi < b.midi;
  });
  for (const Played& p : sorted) {
    WrittenNote n;
    n.id = static_cast<NoteId>(s.notes.size());
    n.stave = p.stave;
    n.voice = "1";
    while (n.bar + 1 < static_cast<int>(s.bars.size()) &&
           s.bars[static_cast<std::size_t>(n.bar) + 1].start <= p.onset) {
      ++n.bar;
    }
    n.at = p.onset - s.bars[static_cast<std::size_t>(n.bar)].start;
    n.length = p.length;
    n.note = Note{p.midi};
    n.tie_from = p.tie_from;
    n.tie_to = p.tie_to;
    s.notes.push_back(n);
  }
  return s;
}

// Something printed: a dynamic, words, a hairpin's end. `at`: crotchets from the beginning of the bar.
inline void direct(Score& s, Direction::Kind kind, int bar, const std::string& text, int stave = -1, Rational at = {}) {
  Direction d;
  d.kind = kind;
  d.bar = bar;
  d.at = at;
  d.text = text;
  d.stave = stave;
  s.directions.push_back(d);
}

inline std::vector<Played> line(const std::vector<int>& midi, Rational length, int stave) {
  std::vector<Played> out;
  Rational at;
  for (const int m : midi) {
    out.push_back({m, at, length, stave});
    at += length;
  }
  return out;
}

inline Organ village() {
  Organ o;
  o.id = "invented";
  o.name = "An invented village organ";
  o.invented = true;
  const auto division = [&](const std::string& id, const std::string& name, bool pedal, int low, int high) {
    Division d;
    d.id = id;
    d.name = name;
    d.keyboard = static_cast<KeyboardIndex>(o.keyboards.size());
    d.low = Note{low};
    d.high = Note{high};
    Keyboard k;
    k.id = id;
    k.name = name;
    k.pedal = pedal;
    k.keys = NoteSet::range(low, high);
    k.division = static_cast<DivisionIndex>(o.divisions.size());
    o.divisions.push_back(d);
    o.keyboards.push_back(k);
  };
  division("great", "Great", false, 36, 91);
  division("swell", "Swell", false, 36, 91);
  division("pedal", "Pedal", true, 36, 65);
  const auto stop = [&](const std::string& id, const std::string& name, DivisionIndex d, int feet, int pipes) {
    Chest chest;
    chest.id = id;
    chest.division = d;
    o.chests.push_back(chest);
    Rank r;
    r.id = id;
    r.name = name;
    r.chest = static_cast<int>(o.chests.size()) - 1;
    r.pipes = pipes;
    r.pitch = {{Note{36}, Feet{Rational{feet}}}};
    o.ranks.push_back(r);
    Stop s;
    s.id = id;
    s.name = name;
    s.feet = {Feet{Rational{feet}}};
    s.division = d;
    StopPart part;
    part.rank = static_cast<int>(o.ranks.size()) - 1;
    s.parts = {part};
    o.stops.push_back(s);
  };
  stop("gt-open-8", "Open Diapason", 0, 8, 56);
  stop("sw-gedact-8", "Gedact", 1, 8, 56);
  stop("sw-gemshorn-4", "Gemshorn", 1, 4, 56);
  stop("pd-bourdon-16", "Bourdon", 2, 16, 30);
  const auto coupler = [&](const std::string& id, const std::string& name, int from, int to, int semitones) {
    Coupler c;
    c.id = id;
    c.name = name;
    c.from = from;
    c.to = to;
    c.semitones = semitones;
    o.couplers.push_back(c);
  };
  coupler("sw-gt", "Swell to Great", 0, 1, 0);
  coupler("sw-oct", "Swell Octave", 1, 1, 12);
  coupler("gt-pd", "Great to Pedal", 2, 0, 0);
  SwellBox box;
  box.id = "swell";
  box.name = "Swell";
  box.pedal = SwellPedal::lever;
  box.hitches = {0.0, 1.0};
  o.boxes.push_back(box);
  o.divisions[1].box = 0;
  o.dead.resize(o.ranks.size());
  return o;
}

}  // namespace calcant::by_hand
