#include "engine/plan/scales.hpp"

#include <functional>
#include <utility>

namespace calcant {

KeysDown held(const Organ& organ, const Chord& chord, const HandsAndFeet& on) {
  KeysDown down;
  const auto put = [&](std::optional<KeyboardIndex> keyboard, NoteSet keys) {
    if (!keyboard) return;
    const auto k = static_cast<std::size_t>(*keyboard);
    down.keys[k] |= keys & organ.keyboards[k].keys;
  };
  put(on.right, chord.right);
  put(on.left, chord.left);
  put(on.feet, chord.feet);
  return down;
}

Scales::Scales(const Listening& listening, std::vector<Chord> chords)
    : listening_(&listening),
      chords_(std::move(chords)),
      ear_(EarSettings{NumberSet::iso, SoundField::diffuse, Ears::both, Grid::coarse}),
      sounding_(listening.organ()) {}

Registration Scales::that_counts(const Registration& drawn, const HandsAndFeet& on) {
  const Organ& organ = listening_->organ();
  Chord all_keys;
  for (const Chord& c : chords_) {
    all_keys.right |= c.right;
    all_keys.left |= c.left;
    all_keys.feet |= c.feet;
  }
  const std::vector<NoteSet>& notes = sounding_.notes(drawn, held(organ, all_keys, on));
  Registration r = drawn;
  for (std::size_t s = 0; s < organ.stops.size(); ++s) {
    if (notes[static_cast<std::size_t>(organ.stops[s].division)].empty()) r.stops.reset(s);
  }
  for (std::size_t b = 0; b < organ.boxes.size(); ++b) {
    bool heard = false;
    for (std::size_t d = 0; d < organ.divisions.size(); ++d) {
      heard = heard || (organ.divisions[d].box == static_cast<BoxIndex>(b) && !notes[d].empty());
    }
    if (!heard) r.box[b] = 1;
  }
  return r;
}

Phons Scales::mean(const Registration& all_drawn, const HandsAndFeet& on) {
  const Registration drawn = that_counts(all_drawn, on);
  std::size_t hash = std::hash<Registration>{}(drawn);
  for (const auto k : {on.right, on.left, on.feet}) hash = hash * 31 + static_cast<std::size_t>(k.value_or(-1) + 1);
  auto& bucket = known_[hash];
  for (const auto& [state, phons] : bucket) {
    if (state.first == drawn && state.second == on) return phons;
  }
  double sum = 0;
  int counted = 0;
  for (const Chord& chord : chords_) {
    sounding_.pipes(drawn, held(listening_->organ(), chord, on), pipes_);
    if (pipes_.size() == 0) continue;
    // 5 cents: loudness moves by under 0.1 % (listening.hpp).
    const auto heard = ear_.hear(condensed(listening_->lines(pipes_, drawn), Cents{5}));
    if (!heard) continue;  // a chord of more lines than the ear takes cannot come from an organ of this size
    sum += heard->loudness.phons.value();
    ++counted;
  }
  const Phons answer{counted > 0 ? sum / counted : 0};
  bucket.push_back({{drawn, on}, answer});
  return answer;
}

Phons Scales::all(const Registration& drawn, const HandsAndFeet& on) { return mean(drawn, on); }
Phons Scales::feet(const Registration& drawn, const HandsAndFeet& on) { return mean(drawn, {{}, {}, on.feet}); }
Phons Scales::hands(const Registration& drawn, const HandsAndFeet& on) { return mean(drawn, {on.right, on.left, {}}); }

std::vector<Chord> hymn_chords(int tonic, bool minor, bool feet, bool left_doubles) {
  // The tonic's root nearest to middle C from below, as tenors and basses have it.
  const int root = 48 + (tonic > 7 ? tonic - 12 : tonic);
  const int third = minor ? 3 : 4;
  struct Parts {
    int bass, tenor, alto, treble;
  };
  const Parts parts[] = {
      {root, root + 7, root + 12, root + 12 + third},   // tonic, low
      {root - 5, root + 11, root + 14, root + 19},      // dominant, middle
      {root, root + 12 + third, root + 19, root + 24},  // tonic, high
  };
  std::vector<Chord> chords;
  for (const Parts& p : parts) {
    Chord c;
    c.right.insert(p.alto);
    c.right.insert(p.treble);
    c.left.insert(p.tenor);
    if (!feet || left_doubles) c.left.insert(p.bass);
    if (feet) c.feet.insert(p.bass);
    chords.push_back(c);
  }
  return chords;
}

std::vector<Chord> tune_apart(std::vector<Chord> chords) {
  for (Chord& c : chords) {
    const int tune = c.right.highest();
    if (tune < 0) continue;
    for (const int note : c.right) {
      if (note != tune) c.left.insert(note);
    }
    c.right = {};
    c.right.insert(tune);
  }
  return chords;
}

Chord hymn_notes(int tonic, bool minor, bool feet, bool left_doubles) {
  const auto in_scale = [&](int midi) {
    const int step = ((midi - tonic) % 12 + 12) % 12;
    if (minor) return step == 0 || step == 2 || step == 3 || step == 5 || step == 7 || step == 8 || step >= 10;
    return step == 0 || step == 2 || step == 4 || step == 5 || step == 7 || step == 9 || step == 11;
  };
  Chord all;
  const auto fill = [&](NoteSet& notes, int low, int high) {
    for (int midi = low; midi <= high; ++midi) {
      if (in_scale(midi)) notes.insert(midi);
    }
  };
  fill(all.right, 60, 76);
  fill(all.left, feet && !left_doubles ? 48 : 36, 67);
  if (feet) fill(all.feet, 36, 62);
  return all;
}

}  // namespace calcant
