// The events of a Standard MIDI file that matter to a score, in absolute ticks.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/rational.hpp"
#include "engine/quantity/result.hpp"

namespace calcant::midi {

inline constexpr std::size_t most_bytes = 32U << 20;
inline constexpr std::size_t most_notes = 200'000;
inline constexpr int most_tracks = 500;

struct NoteEvent {
  std::int64_t from = 0;  // ticks
  std::int64_t to = 0;
  int channel = 0;  // 0 to 15
  int key = 0;
};
struct TempoEvent {
  std::int64_t at = 0;
  int microseconds_a_quarter = 500'000;
};
struct TimeEvent {
  std::int64_t at = 0;
  int beats = 4;
  int beat_type = 4;
};
struct KeyEvent {
  std::int64_t at = 0;
  int fifths = 0;
};
struct Track {
  std::string name;  // UTF-8
  std::vector<NoteEvent> notes;
  std::int64_t end = 0;
};
struct File {
  int format = 1;
  Rational quarters_a_tick{1, 480};
  bool clock_time = false;  // the division counts frames of a second, not quarters; a quarter is taken as half a second
  std::vector<Track> tracks;
  std::vector<TempoEvent> tempos;
  std::vector<TimeEvent> times;
  std::vector<KeyEvent> keys;
  int unended = 0;      // notes that were never let go
  int overlapping = 0;  // notes struck again while they sound
  bool cut_off = false;
};

// Tracks of a format 2 file are put one after the other.
[[nodiscard]] Result<File> events(std::string_view bytes, std::string_view filename);

}  // namespace calcant::midi
