// The room as two ears hear it: a stereo response made from the room's description.
//
// Early part: image sources of the box the room is taken for (Allen & Berkley, J. Acoust. Soc. Am. 65, 1979,
// 943), with absorption per octave band. Late part: seeded noise in octave bands, decaying with each band's
// reverberation time, its energy set so that direct, early and late together give Field::transfer in every
// band. Air absorption is in the reverberation times.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "engine/quantity/result.hpp"
#include "engine/room/field.hpp"

namespace calcant {

// Pressure at each ear for a source that makes 1 (of pressure) at 1 m in the free field. 48 kHz.
struct StereoResponse {
  std::vector<float> left;
  std::vector<float> right;
};

struct ResponseRequest {
  std::array<Metres, 3> size;  // of the box the room is taken for; 0 in any: a box of the room's volume, 2 : 1 : 0.9
  Metres distance;             // source to listener, along the length
  Metres sideways{0.0};        // source off the middle line (divisions stand side by side)
  std::uint64_t seed = 1;
};

[[nodiscard]] StereoResponse synthesise_response(const Field& field, const ResponseRequest& request);

}  // namespace calcant
