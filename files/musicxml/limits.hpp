// How large a score may be. Far above any organ work, far below what would tie up a machine.
#pragma once

#include <cstddef>

namespace calcant::musicxml {

inline constexpr std::size_t most_bytes = 64U << 20;  // of XML text, unpacked
inline constexpr std::size_t most_entries = 1000;     // of a packed file
inline constexpr std::size_t most_ratio = 200;        // unpacked to packed, beyond the first megabyte
inline constexpr int deepest = 64;                    // elements within elements
inline constexpr std::size_t most_notes = 200'000;
inline constexpr std::size_t most_bars = 20'000;
inline constexpr std::size_t most_parts = 200;
inline constexpr int most_staves = 20;                       // of one part
inline constexpr std::size_t most_played_notes = 2'000'000;  // repeats unfolded

}  // namespace calcant::musicxml
