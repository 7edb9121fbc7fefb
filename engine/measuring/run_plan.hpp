// What was asked of the player: which keys, in which order, and how high each ought to sound.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "engine/quantity/note.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

// One key of the run. `pipes`: what each pipe it sounds should give at the stated temperature (one for a plain stop,
// several for a mixture, lowest first); never empty.
struct PlannedKey {
  Note key;
  std::vector<Hertz> pipes;

  friend bool operator==(const PlannedKey&, const PlannedKey&) = default;
};

struct RunPlan {
  std::vector<PlannedKey> keys;          // in playing order; the same key may stand several times
  Celsius temperature_95{0.5};           // half width: how well the stated temperature is known
  double recorder_95 = 50e-6;            // half width of the recorder's clock, relative (crystals: 20 to 100 ppm)
  std::optional<Decibels> full_scale{};  // sound pressure level of a full-scale sine, when calibrated
};

// Keys in the order C side (C, D, E, F#, G#, A#), then C sharp side, each rising; from rising keys.
[[nodiscard]] std::vector<Note> by_sides(std::span<const Note> rising);

// The samples of one channel. `read` fills `into` from sample `from` on and returns how many there were (fewer only at
// the end). A run is read twice, each time with rising `from`; nothing else is kept of it than about 13 MB an hour.
struct Recording {
  int rate = 48000;  // 8 000 to 384 000 a second
  std::function<Result<std::int64_t>(std::int64_t from, std::span<float> into)> read;
};
// Over samples that stand in memory and outlive the Recording.
[[nodiscard]] Recording recording_of(std::span<const float> samples, int rate);

}  // namespace calcant
