// Figures per octave band, as room acoustics gives them.
#pragma once

#include <array>

namespace calcant {

inline constexpr int octave_band_count = 8;
// Centre frequencies, Hz.
inline constexpr std::array<double, octave_band_count> octave_bands_hz{63, 125, 250, 500, 1000, 2000, 4000, 8000};
// One figure a band, in the unit its holder names (seconds, dB, absorption coefficient).
using Bands = std::array<double, octave_band_count>;

// The figure at a frequency, linear in the logarithm of frequency between centres, held beyond the ends.
[[nodiscard]] double at_frequency(const Bands& bands, double hz);

}  // namespace calcant
