// What a recording may be at most; shared by reader and writer.
#pragma once

#include <cstdint>

namespace calcant::audio {

inline constexpr int lowest_rate = 8000;
inline constexpr int highest_rate = 384000;
inline constexpr int most_channels_read = 64;
inline constexpr int most_channels_written = 8;
inline constexpr std::int64_t most_seconds = 24 * 3600;

}  // namespace calcant::audio
