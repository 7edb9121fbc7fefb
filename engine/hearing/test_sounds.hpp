// Sounds to try the ear on, for the tests and benches of this part.
#pragma once

#include <cmath>
#include <initializer_list>
#include <utility>
#include <vector>

#include "engine/quantity/lines.hpp"
#include "engine/quantity/random.hpp"

namespace calcant {

inline Lines tone(double f, double db) { return {{Hertz{f}, Decibels{db}}}; }
inline Lines tones(std::initializer_list<double> f, double db) {
  Lines lines;
  for (double x : f) lines.push_back({Hertz{x}, Decibels{db}});
  return lines;
}
inline Lines operator+(Lines a, const Lines& b) {
  a.insert(a.end(), b.begin(), b.end());
  return a;
}
// Noise as lines every 10 Hz from low + 5, each with the power of its 10 Hz; level at f: db per Hz, falling
// as 1/f about 1 kHz when pink.
inline Lines noise(double low, double high, double db_per_hz, bool pink = false) {
  Lines lines;
  for (double f = low + 5; f < high; f += 10)
    lines.push_back({Hertz{f}, Decibels{db_per_hz + 10 - (pink ? 10 * std::log10(f / 1000) : 0)}});
  return lines;
}
// Harmonics whose level falls by `roll` dB for each octave of harmonic number.
inline Lines harmonics(double f0, int n, double h1, double roll) {
  Lines lines;
  for (int k = 1; k <= n; ++k) lines.push_back({Hertz{f0 * k}, Decibels{h1 + roll * std::log2(k)}});
  return lines;
}

// Organ-like sounds to try things on: one to eight stops of harmonics at octave and twelfth pitches.
inline Lines some_chorus(Random& random) {
  Lines lines;
  const double f0 = 32.7 * std::exp2(random.uniform(0, 5));
  const int stops = 1 + random.below(8);
  for (int s = 0; s < stops; ++s) {
    constexpr double feet[] = {.5, 1, 1, 2, 3, 4};
    lines = std::move(lines) + harmonics(f0 * feet[random.below(6)] * std::exp2(random.uniform(-2, 2) / 1200),
                                         1 + random.below(20), random.uniform(30, 85), random.uniform(-15, -2));
  }
  return lines;
}

// The groups of pipes of a random 16-stop organ for one chord: every stop at the unison, an octave below and
// above, up to 20 partials a pipe, levels and spectra spread as widely as organs do.
inline std::vector<Lines> organ_groups(Random& random, int keys, int lowest_midi) {
  constexpr double feet[] = {.5, 1, 1, 1, 2, 2, 3, 4, 1, 2, 5, 8};
  std::vector<Lines> groups;
  for (int stop = 0; stop < 16; ++stop) {
    const double level = random.uniform(50, 75);
    const double roll = random.uniform(-15, -4);
    const int partials = 5 + random.below(16);
    for (int octave = -1; octave <= 1; ++octave) {
      Lines lines;
      for (int key = 0; key < keys; ++key) {
        const double f0 =
            440 * std::exp2((lowest_midi + key * 4 + 12 * octave - 69 + random.uniform(-.05, .05)) / 12.0);
        for (int k = 1; k <= partials; ++k)
          lines.push_back(
              {Hertz{f0 * feet[stop % 12] * k}, Decibels{level + roll * std::log2(k) + random.uniform(-3, 3)}});
      }
      groups.push_back(std::move(lines));
    }
  }
  return groups;
}
inline Lines together(const std::vector<Lines>& groups) {
  Lines lines;
  for (const Lines& g : groups) lines.insert(lines.end(), g.begin(), g.end());
  return lines;
}

}  // namespace calcant
