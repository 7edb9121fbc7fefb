// A church's own response, recorded by the user, in place of the one made from its description.
#pragma once

#include <filesystem>
#include <vector>

#include "engine/quantity/result.hpp"
#include "engine/quantity/units.hpp"
#include "engine/room/field.hpp"
#include "engine/room/response_synthesis.hpp"

namespace calcant {

// The first channel (the omnidirectional one of B-format), as it was recorded.
struct RecordedResponse {
  std::vector<float> samples;
  Hertz rate;
  int channels = 1;  // there were
};
// Refused: more than 30 s, samples that are no numbers, what is no sound file.
[[nodiscard]] Result<RecordedResponse> read_recorded_response(const std::filesystem::path& path);

// At 48 kHz; one channel goes to both ears, two as they are; of more, the first (the omnidirectional one of B-format) to
// both. A recording's level is arbitrary, so its energy is set to what the room's own field gives at 1 kHz at that
// distance. Refused: under 16000 samples a second, more than 30 s, silence, samples that are no numbers, what is no
// sound file.
[[nodiscard]] Result<StereoResponse> read_room_response(const std::filesystem::path& path, const Field& field,
                                                        Metres distance);

}  // namespace calcant
