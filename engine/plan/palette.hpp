// The registrations a plan chooses from: what an organist would draw on this organ to lead singing, from the softest
// foundation to everything, on each manual, with the pedal that supports it.
//
// Built by rules of practice (docs/reference/rules.md): an 8 ft under everything (R1), no gap in the octaves (R2), the
// Twelfth only with the Fifteenth (R3), families and order after R4 and R5, never a celeste (R8) or a tremulant (R9), the
// manual 16 ft only on top of all (R11), 16 and 8 ft in the pedal (R15), the pedal's coupler following the hands (R17),
// the pedal no more than 2 phon above the hands (R16).
#pragma once

#include <string>
#include <vector>

#include "engine/plan/plan.hpp"
#include "engine/plan/scales.hpp"

namespace calcant {

struct Shade {
  Registration drawn;
  OnKeyboards on;
  Phons loudness;      // everything together, mean over the chords
  Phons pedal;         // the feet alone; 0 without
  double against = 0;  // what the rules of practice have against it, 0 nothing
  std::string what;    // "Great 8 and 4 with the Swell coupled, box shut"
};

struct PaletteWish {
  bool feet = true;
  // Stops never to be drawn, and couplers.
  std::vector<Knob> never{};
};

// Sorted by loudness. Empty only where no manual has a stop that plays.
[[nodiscard]] std::vector<Shade> palette(const Organ& organ, Scales& scales, const PaletteWish& wish);

// A tune on a solo stop of one manual (right hand), its harmony on another (left hand), no coupler between them. Empty
// where the organ has no two manuals with stops.
[[nodiscard]] std::vector<Shade> solo_palette(const Organ& organ, Scales& scales, const PaletteWish& wish);

// The keyboard hymns are led from: the first manual whose division has an 8 ft principal, else the first with an 8 ft.
[[nodiscard]] std::optional<KeyboardIndex> leading_manual(const Organ& organ);
[[nodiscard]] std::optional<KeyboardIndex> pedalboard(const Organ& organ);

}  // namespace calcant
