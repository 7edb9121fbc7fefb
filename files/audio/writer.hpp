// Sound written for people to keep: 24-bit WAV or FLAC, whole or not at all.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <span>
#include <string>

#include "engine/quantity/result.hpp"

namespace calcant {

enum class AudioFormat { wav, flac };  // both 24 bit

// By the ending, .wav or .flac in either case; anything else is refused with a sentence.
[[nodiscard]] Result<AudioFormat> audio_format_for(const std::filesystem::path& path);

// Writes beside the target under a hidden temporary name; finish() makes it safe on the disk and gives it the
// target's name in one step, so a crash or a full disk leaves what was there before. Destroyed without
// finish(), it leaves nothing behind. The same samples give the same bytes. WAV beyond 4 GB becomes RF64.
class AudioWriter {
 public:
  // rate: 8 000 to 384 000 frames a second; channels: 1 to 8 (the most FLAC has). `comment` is written into the file.
  [[nodiscard]] static Result<AudioWriter> create(const std::filesystem::path& path, AudioFormat format, int rate,
                                                  int channels, const std::string& comment = {});
  AudioWriter(AudioWriter&&) noexcept;
  AudioWriter& operator=(AudioWriter&&) noexcept;
  ~AudioWriter();

  // Whole frames, interleaved, full scale = 1. What lies beyond full scale is clipped and counted; a sample
  // that is no number is refused; at most 24 hours.
  [[nodiscard]] Result<void> write(std::span<const float> samples);
  [[nodiscard]] std::int64_t clipped() const;  // samples so far
  [[nodiscard]] Result<void> finish();

 private:
  struct State;
  explicit AudioWriter(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

// All of it at once, in the format the path's ending names.
[[nodiscard]] Result<void> write_audio(const std::filesystem::path& path, int rate, int channels,
                                       std::span<const float> samples);

}  // namespace calcant
