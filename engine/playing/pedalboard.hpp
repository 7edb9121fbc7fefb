// Where the pedals lie under the feet: places across the board, counted in naturals from the player's middle.
#pragma once

#include "engine/organ/organ.hpp"
#include "engine/quantity/note.hpp"

namespace calcant {

[[nodiscard]] constexpr bool is_sharp(Note n) {
  const int c = n.midi % 12;
  return c == 1 || c == 3 || c == 6 || c == 8 || c == 10;
}

class Pedalboard {
 public:
  // A common board: naturals 63.5 mm apart (2 1/2 in), concave and radiating, D under D.
  Pedalboard();
  explicit Pedalboard(const Console& c);

  // Distance to the right of the player's middle, in naturals of 63.5 mm; a sharp lies half-way between its neighbours.
  [[nodiscard]] double across(Note key) const;
  // How much dearer distance is here than on a radiating and concave board: a straight row turns the leg further to the
  // same key (assumed: a tenth for each of the two).
  [[nodiscard]] double reach() const { return reach_; }

 private:
  double centre_ = 0;
  double scale_ = 1;
  double reach_ = 1;
};

}  // namespace calcant
