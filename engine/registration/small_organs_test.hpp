// Invented small organs at random, for the tests of this folder: shared ranks, borrowed basses, extensions, octave
// couplers that carry one another, one or two swell boxes, now and then a dead pipe.
#pragma once

#include <string>

#include "engine/organ/organ.hpp"
#include "engine/quantity/random.hpp"

namespace calcant {

inline Organ small_organ(Random& random) {
  Organ o;
  o.id = "small";
  o.invented = true;
  o.pitch = {given(Hertz{440}, "test"), given(Celsius{15}, "test")};
  const int boards = 2 + random.below(2);
  const int boxes = random.below(3);
  o.boxes.resize(static_cast<std::size_t>(boxes));
  for (int b = 0; b < boxes; ++b) {
    o.boxes[static_cast<std::size_t>(b)].id = "box-" + std::to_string(b);
    if (random.below(2) == 0) o.boxes[static_cast<std::size_t>(b)].hitches = {0, 1};
    else o.boxes[static_cast<std::size_t>(b)].pedal = SwellPedal::balanced;
  }
  for (int k = 0; k < boards; ++k) {
    const std::string name = std::to_string(k);
    Division d{"d" + name, "D" + name, k, Note{36}, Note{72 + 12 * random.below(2)}, {}};
    if (k > 0 && k <= boxes) d.box = k - 1;
    o.divisions.push_back(d);
    o.keyboards.push_back({"k" + name, "K" + name, false, NoteSet::range(36, 72), k});
    Chest c;
    c.id = "c" + name;
    c.division = k;
    c.wind = given(millimetres_of_water(75), "test");
    o.chests.push_back(c);
    o.action.delay.push_back(given(Seconds{0.06}, "test"));
  }
  const Rational lengths[] = {Rational{16}, Rational{8}, Rational{8}, Rational{4}, Rational{2}};
  const int ranks = 3 + random.below(3);
  for (int r = 0; r < ranks; ++r) {
    Rank rank;
    rank.id = "r" + std::to_string(r);
    rank.chest = random.below(boards);
    rank.family = static_cast<Family>(random.below(3));
    rank.form = random.below(3) == 0 ? Form::stopped : Form::open;
    rank.pipes = 30 + random.below(30);
    rank.pitch = {{Note{36}, Feet{lengths[random.below(5)]}}};
    o.ranks.push_back(rank);
  }
  const int stops = 4 + random.below(3);
  for (int s = 0; s < stops; ++s) {
    Stop stop;
    stop.id = "s" + std::to_string(s);
    stop.name = "Stop " + std::to_string(s);
    stop.division = random.below(boards);
    const int parts = 1 + random.below(2);
    for (int p = 0; p < parts; ++p) {
      StopPart part;
      part.rank = random.below(ranks);
      part.step = 12 * (random.below(3) - 1);
      part.from = Note{p == 0 ? 36 : 48};
      part.to = Note{parts == 2 && p == 0 ? 47 : 127};
      stop.parts.push_back(part);
    }
    o.stops.push_back(stop);
  }
  const int couplers = random.below(5);
  for (int c = 0; c < couplers; ++c) {
    Coupler coupler;
    coupler.id = "x" + std::to_string(c);
    coupler.name = "Coupler " + std::to_string(c);
    coupler.from = random.below(boards);
    coupler.to = random.below(boards);
    coupler.semitones = 12 * (random.below(3) - 1);
    coupler.unison_off = random.below(6) == 0;
    if (coupler.unison_off) coupler.to = coupler.from;
    for (int other = 0; other < couplers; ++other) {
      if (other != c && random.below(3) == 0) coupler.carries.push_back(other);
    }
    o.couplers.push_back(coupler);
  }
  if (random.below(3) == 0) {
    o.dead.resize(o.ranks.size());
    o.dead[0].insert(1 + random.below(20));
  }
  o.room.volume = given(CubicMetres{800}, "test");
  return o;
}

// One or two chords of up to four keys, most of them on the first keyboard.
inline std::vector<KeysDown> some_chords(const Organ& o, Random& random) {
  std::vector<KeysDown> out(static_cast<std::size_t>(1 + random.below(2)));
  for (KeysDown& down : out) {
    const int keys = 1 + random.below(4);
    for (int i = 0; i < keys; ++i) {
      const int board = random.below(3) == 0 ? random.below(static_cast<int>(o.keyboards.size())) : 0;
      down.keys[static_cast<std::size_t>(board)].insert(36 + random.below(37));
    }
  }
  return out;
}

}  // namespace calcant
