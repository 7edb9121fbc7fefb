// A church as a statistical sound field: how loud a source of known power is at a place.
//
// Direct sound and reverberant field per octave band from volume, surfaces, people and air, or from measured
// reverberation. Below the Schroeder frequency 2000 sqrt(T/V) the field is modal: levels there are means over places,
// and single seats scatter; `schroeder()` says where that begins.
#pragma once

#include <vector>

#include "engine/air/air.hpp"
#include "engine/quantity/bands.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

enum class People { empty, half, full };

// What the field is computed from; `Organ`'s Room says the same in the organ's own terms (listening.hpp translates).
struct RoomDescription {
  CubicMetres volume;
  struct Surface {
    SquareMetres area;
    Bands absorption;  // 0 to 1
  };
  std::vector<Surface> surfaces;
  double persons = 0;  // present
  bool reverberation_measured = false;
  Bands reverberation{};  // seconds, empty room, when measured
  Air air;
};

// What one seated person adds to the absorption of a church, square metres per octave band. Absorption goes with the
// number of persons, not their area (Martellotta, D'Alba & Della Crociata, Applied Acoustics 72 (2011) 341). The
// figures: wooden pews full less the same pews empty (printed tables, materials.hpp) at an assumed 0.8 m2 a person; their
// mean of 500 Hz to 2 kHz, 0.53, is near what four churches of 6300 m3 showed full against empty, 0.57 +- 0.09 (A. P. O.
// Carvalho, Porto, abstract read). Light summer clothes absorb much less.
[[nodiscard]] const Bands& person_absorption();

class Field {
 public:
  // Never fails: a volume under 10 m3 is taken for 10 m3; with neither surfaces nor reverberation, the reverberation
  // of a plain stone church of that volume is assumed (1.6 s at 2000 m3, with the cube root of volume).
  explicit Field(const RoomDescription& room);

  [[nodiscard]] CubicMetres volume() const { return CubicMetres{volume_}; }
  // Reverberation time per octave band, seconds: as measured, persons added after Sabine; else Eyring with the air's
  // absorption (ISO 9613-1), persons among the surfaces.
  [[nodiscard]] const Bands& reverberation() const { return reverberation_; }
  // Equivalent absorption area per octave band, square metres, air included: 24 ln 10 V / (c T).
  [[nodiscard]] const Bands& absorption_area() const { return area_; }
  [[nodiscard]] Hertz schroeder() const;
  // What to add to a sound power level (dB re 1 pW) of a non-directional source to get the mean sound pressure level
  // (dB re 20 uPa) at this distance: 10 lg(1/(4 pi r^2) + 4/A exp(-0.04 r/T)). The last factor is the fall of the
  // reverberant field away from the source (Barron & Lee, J. Acoust. Soc. Am. 84 (1988) 618); at the source it is 1.
  [[nodiscard]] Decibels transfer(Hertz f, Metres distance) const;
  // Distance at which direct and reverberant sound are equal, sqrt(A / 16 pi).
  [[nodiscard]] Metres critical_distance(Hertz f) const;

 private:
  Bands reverberation_{};
  Bands area_{};
  double volume_;
};

}  // namespace calcant
