// Recordings whose measuring has not ended. Each has a note of what was asked beside it until it has, so that a desk that
// was ended or killed in the middle finds it again when it is opened.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "jobs/measure.hpp"

namespace calcant::desk {

struct HandedOver {
  MeasureRequest request;
  std::optional<Celsius> temperature;
  std::uint64_t desk = 0;  // the run of the desk that has it in hand
};

// Beside the recording, whole or not at all.
[[nodiscard]] Result<void> note_down(const HandedOver& handed);
void cross_out(const std::filesystem::path& recording);
// Those in `recordings` that an earlier run of the desk had in hand, by name. A note that cannot be read, or whose
// recording is gone, is left out.
[[nodiscard]] std::vector<HandedOver> not_finished(const std::filesystem::path& recordings, std::uint64_t this_desk);

}  // namespace calcant::desk
