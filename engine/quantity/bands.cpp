#include "engine/quantity/bands.hpp"

#include <cmath>

namespace calcant {

double at_frequency(const Bands& bands, double hz) {
  if (!(hz > octave_bands_hz.front())) return bands.front();
  const double place = std::log2(hz / octave_bands_hz.front());
  const int low = static_cast<int>(place);
  if (low >= octave_band_count - 1) return bands.back();
  const double share = place - low;
  const auto i = static_cast<std::size_t>(low);
  return bands[i] + share * (bands[i + 1] - bands[i]);
}

}  // namespace calcant
