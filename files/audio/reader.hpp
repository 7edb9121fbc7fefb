// Recordings from outside, read a block at a time: WAV (also RF64, W64, AIFF), FLAC and Ogg (Vorbis or Opus).
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <span>
#include <string>

#include "engine/quantity/result.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

// What was wrong with the samples read so far, and was got over.
struct AudioFaults {
  std::int64_t not_numbers = 0;       // NaN, infinite or absurd samples of a float file; each was taken as silence
  std::optional<Seconds> first_at{};  // where the first of those stands
  std::int64_t missing_frames = 0;    // frames the header promises that are not there (known once the end is read)
};

// One open recording. What it is, is told by its content, whatever its name says. Memory does not grow with
// length. Refused with a sentence: what cannot be opened, is no ordinary file (a folder, a device, a pipe: it
// might never end), is empty or damaged, holds something else than the formats above, has more than 64
// channels, a rate outside 8 000 to 384 000 Hz, or more than 24 hours.
class AudioReader {
 public:
  [[nodiscard]] static Result<AudioReader> open(const std::filesystem::path& path);
  AudioReader(AudioReader&&) noexcept;
  AudioReader& operator=(AudioReader&&) noexcept;
  ~AudioReader();

  [[nodiscard]] int rate() const;      // frames a second
  [[nodiscard]] int channels() const;  // 1 to 64
  // As the header gives it; nothing when the file was streamed and its header does not know. A damaged file
  // may hold fewer: see faults().
  [[nodiscard]] std::optional<std::int64_t> frames() const;
  // "WAV, 24 bit", "FLAC, 16 bit", "Ogg Vorbis": for people. Lossy ones say so by their name.
  [[nodiscard]] std::string format() const;
  [[nodiscard]] bool lossy() const;
  // A sentence when the file's name promises another format than it holds.
  [[nodiscard]] std::optional<std::string> mislabelled() const;

  // Fills whole frames into `samples` (interleaved, full scale = 1; its size at least one frame) and returns
  // how many frames; 0 at the end and ever after. Every sample given is finite.
  [[nodiscard]] Result<std::int64_t> read(std::span<float> samples);
  // The next read() begins at `frame`, counted from 0; beyond the end it will find nothing.
  [[nodiscard]] Result<void> seek(std::int64_t frame);
  [[nodiscard]] const AudioFaults& faults() const;

 private:
  struct State;
  explicit AudioReader(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace calcant
