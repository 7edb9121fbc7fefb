// The air in the church and in the pipes: how fast sound runs in it, how heavy it is, what it swallows.
#pragma once

#include "engine/quantity/result.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

struct Air {
  Celsius temperature{15.0};
  double humidity = 0.6;  // relative, 0 to 1
  Pascals pressure{101325.0};
  double carbon_dioxide = 0.000314;  // mole fraction

  friend bool operator==(const Air&, const Air&) = default;
};

// ISO 9613-1:1993, simple form 343.2 sqrt(T / 293.15): -20 to 50 C.
[[nodiscard]] Result<MetresPerSecond> speed_of_sound_iso(Celsius t);
// Cramer, J. Acoust. Soc. Am. 93 (1993) 2510: 0 to 30 C, 75 to 102 kPa, with humidity and carbon dioxide.
[[nodiscard]] Result<MetresPerSecond> speed_of_sound_cramer(const Air& air);
// Cramer where he holds, else the ISO form (clamped to its range): never fails, for use inside the model.
[[nodiscard]] MetresPerSecond speed_of_sound(const Air& air);
// Giacomo, Metrologia 18 (1982) 33, without the compressibility term (0.04 %).
[[nodiscard]] KilogramsPerCubicMetre density(const Air& air);
// ISO 9613-1:1993, pure-tone attenuation, dB per metre.
[[nodiscard]] double absorption_db_per_metre(const Air& air, Hertz f);

}  // namespace calcant
