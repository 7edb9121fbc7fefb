// Temperaments and pitch: the twelve notes of the octave, and where A stands.
#pragma once

#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/note.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

// offsets[i]: how far the note i semitones above C lies from equal temperament, in cents, with A = 0, so that the pitch
// standard says where A is whatever the temperament.
struct Temperament {
  std::string id = "equal";
  std::string name = "Equal temperament";
  std::array<double, 12> offsets_cents{};

  friend bool operator==(const Temperament&, const Temperament&) = default;
};

// equal, pythagorean, meantone-quarter, meantone-fifth, meantone-sixth, werckmeister-3, kirnberger-3, vallotti,
// young-1799; each built from its fifths, sources in temperament.cpp.
[[nodiscard]] const std::vector<Temperament>& known_temperaments();
// By id; the error lists the nearest known one.
[[nodiscard]] Result<Temperament> temperament(std::string_view id);
// From an own table: twelve cents above C, C first (0 .. 1200, rising).
[[nodiscard]] Result<Temperament> own_temperament(std::string name, const std::array<double, 12>& cents_from_c);

// The frequency of a note when A4 is `a`.
[[nodiscard]] Hertz frequency(const Temperament& t, Hertz a, Note n);

// Beats per second of two harmonic sounds that nearly make the interval upper:lower = p:q (a fifth: 3, 2): the
// difference of the lowest partials that should agree, q*upper - p*lower; positive when the interval is wide.
[[nodiscard]] Hertz beats(Hertz lower, Hertz upper, int p, int q);

// How a flue pipe's pitch moves with its wind's temperature: by the square root of absolute temperature (church heating
// adds no moisture, and then the root law holds within 0.02 cent of Cramer 1993, reference computed).
[[nodiscard]] Cents flue_shift(Celsius from, Celsius to);

}  // namespace calcant
