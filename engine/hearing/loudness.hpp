// How loud a steady sound is to a listener, in sone and phon, and how bright.
//
// The excitation-pattern model of Moore and Glasberg in its two published number sets: ISO 532-2:2017 (the
// one Calcant states its results in) and ANSI S3.4-2007. Every line passes the outer and middle ear into a
// bank of auditory filters whose lower sides widen with level; each filter's excitation becomes a specific
// loudness, and their sum is the loudness. Lines add by power; phases do not count. Brightness after DIN
// 45692 weighs the same specific loudness, so it is acum-like and is never to be printed as DIN 45692 (that
// is defined on another loudness).
#pragma once

#include <memory>
#include <vector>

#include "engine/quantity/lines.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

namespace hearing {
class Cochlea;
}

using Acums = Quantity<struct AcumsTag>;  // of brightness: a narrow band at 1 kHz is 1, darker below, brighter above

// Where the levels were measured or computed: in front of the listener outdoors; all round him, as in a nave;
// or at the eardrum itself.
enum class SoundField { free, diffuse, eardrum };
enum class Ears { one, both };  // both: the same sound at each
enum class NumberSet { iso, ansi };
enum class Grid {
  fine,
  coarse
};  // filters every 0.1 Cam, as the standards say (372), or every 0.25 (149); < 0.2 % apart

struct EarSettings {
  NumberSet set = NumberSet::iso;
  SoundField field = SoundField::diffuse;
  Ears ears = Ears::both;
  Grid grid = Grid::fine;
};

// A tone of 1 kHz, 40 dB, in front of both ears, is 1 sone and 40 phon; twice as loud is 2 sone, near 50
// phon.
struct Loudness {
  Sones sones;
  Phons phons;
};

struct Heard {
  Loudness loudness;
  Acums brightness;  // 0 where nothing is heard
  // In each filter from low to high: excitation, as a power over that of 1 kHz at 0 dB in front of the listener, and
  // specific loudness, sone per Cam, which the sum is made of.
  std::vector<double> excitation;
  std::vector<double> specific;
  int left_out = 0;  // lines below 20 Hz or above 20 kHz: the standards' tables end there, they count nothing
};

inline constexpr std::size_t most_lines = 20000;

// Refuses, naming the line: a frequency not above 0 Hz, a level beyond +-200 dB, anything not a finite
// number, more than 20000 lines. Every function of this part that takes Lines refuses the same.
[[nodiscard]] Result<void> check_lines(const Lines& lines);

// A listener's ear. Immutable: one may be shared by any number of threads, and copies are cheap. Building one
// takes some milliseconds, so keep it.
class Ear {
 public:
  explicit Ear(const EarSettings& how = {});

  // Levels are dB SPL at the listener's place. No lines at all is silence: 0 sone, 0 phon.
  [[nodiscard]] Result<Heard> hear(const Lines& lines) const;

  // The level of a 1 kHz tone in front of both ears that this number set calls as loud; between 0 and 140
  // phon, what is softer or louder reads as the end. And back.
  [[nodiscard]] Phons phons(Sones s) const;
  [[nodiscard]] Sones sones(Phons p) const;

  // The middle of each filter, as `excitation` and `specific` are ordered.
  [[nodiscard]] Hertz filter(std::size_t i) const;
  // What specific loudness in it counts towards brightness, which is the mean of this by specific loudness.
  [[nodiscard]] Acums brightness(std::size_t i) const;

  [[nodiscard]] const EarSettings& settings() const { return how_; }
  [[nodiscard]] const hearing::Cochlea& cochlea() const { return *cochlea_; }  // for the rest of this part

 private:
  EarSettings how_;
  std::shared_ptr<const hearing::Cochlea> cochlea_;
  std::shared_ptr<const std::vector<double>> column_;  // ln sone of 1 kHz at 0, 1 ... 140 dB
};

}  // namespace calcant
