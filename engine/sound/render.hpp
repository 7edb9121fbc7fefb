// A Performance as audio: every pipe from its own voice, through its box and the room, to two ears at a
// place.
//
// An offline preview of the organ in order, not an instrument to play. Levels are absolute: a sample of 1.0
// is a sound pressure whose peak is `full_scale` (120 dB SPL: 20 Pa), so that files of one organ can be
// compared; listening gain is a separate, stated figure. Sound is rendered in blocks of fixed size and merged
// in a fixed order: the same bytes on any number of threads, and memory that does not grow with the length of
// the music (voices speaking at once, the room's response, one block).
#pragma once

#include <cstdint>
#include <functional>
#include <span>

#include "engine/listening/listening.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/work.hpp"
#include "engine/room/response_synthesis.hpp"
#include "engine/sound/performance.hpp"

namespace calcant {

inline constexpr double sample_rate_hz = 48000.0;

struct RenderSettings {
  // Dry: no room, every line at the level the hearing model has for it at the place (mean of direct and
  // reverberant field), the same in both ears. Otherwise the room's response is synthesised, or `response` is
  // used.
  bool dry = false;
  const StereoResponse* response = nullptr;  // a measured response, one for all divisions; null: synthesised
  Decibels full_scale{120.0};                // peak SPL of a sample of 1.0
  Decibels gain{0.0};                        // listening gain, stated beside the file
  bool noise = true;                         // wind noise and attack noise
  bool irregular = true;                     // slow seeded unsteadiness of level, never of pitch
  bool untidy = false;                       // pitches wander too
  Cents detuned{0.0};                        // every pipe: for tests that must be able to fail
  std::uint64_t seed = 1;
};

// Takes interleaved stereo, -1 to 1, block by block in order; may refuse (a full disk), and then rendering
// stops.
using Sink = std::function<Result<void>(std::span<const float> interleaved)>;

struct Rendered {
  Decibels peak;  // dB re full scale of the file
  Seconds length;
};

// The loudest peak a render could reach, dB re full scale of the file: all partials of all pipes speaking
// together in their worst second, in phase-random sum plus 12 dB. What is predicted over 0 dB is refused
// before it starts.
[[nodiscard]] Decibels predicted_peak(const Performance& p, const Listening& l, const RenderSettings& s);

[[nodiscard]] Result<Rendered> render(const Performance& p, const Listening& l, const RenderSettings& s,
                                      const Sink& sink, const Work& work);

}  // namespace calcant
