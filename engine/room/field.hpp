// A church as a statistical sound field: how loud a source of known power is at a place.
//
// Direct sound and reverberant field per octave band from volume, surfaces, people and air, or from measured
// reverberation. Below the Schroeder frequency 2000 sqrt(T/V) the field is modal: levels there are means over places,
// and single seats scatter; `schroeder()` says where that begins.
#pragma once

#include "engine/air/air.hpp"
#include "engine/quantity/bands.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/units.hpp"

#include <vector>

namespace calcant {

enum class People { empty, half, full };

// What the field is computed from; `Organ`'s Room says the same in the organ's own terms (listening.hpp translates).
struct RoomDescription {
  CubicMetres volume;
  struct Surface {
    SquareMetres area;
    Bands absorption;                 // 0 to 1
  };
  std::vector<Surface> surfaces;
  double persons = 0;                 // present
  bool reverberation_measured = false;
  Bands reverberation{};              // seconds, empty room, when measured
  Air air;
};

class Field {
 public:
  explicit Field(const RoomDescription& room);

  // Reverberation time per octave band, seconds (Eyring with air absorption; people by persons, after Martellotta 2011).
  [[nodiscard]] const Bands& reverberation() const { return reverberation_; }
  [[nodiscard]] Hertz schroeder() const;
  // What to add to a sound power level (dB re 1 pW) of a non-directional source to get the mean sound pressure level
  // (dB re 20 uPa) at this distance: 10 lg(1/(4 pi r^2) + 4/R), R the room constant.
  [[nodiscard]] Decibels transfer(Hertz f, Metres distance) const;
  [[nodiscard]] CubicMetres volume() const { return CubicMetres{volume_}; }
  // Distance at which direct and reverberant sound are equal.
  [[nodiscard]] Metres critical_distance(Hertz f) const;

 private:
  Bands reverberation_{};
  Bands room_constant_{};
  double volume_;
};

}  // namespace calcant
