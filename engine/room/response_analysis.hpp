// What a recorded impulse response says of the room: reverberation, clarity, definition after ISO 3382-1:2009.
#pragma once

#include <array>
#include <optional>
#include <span>

#include "engine/quantity/bands.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

// One band (or the whole) of a response. Times are the slope of the backward-integrated decay (Schroeder, J. Acoust. Soc.
// Am. 37 (1965) 409) over part of its fall, extrapolated to 60 dB; nothing where the recording's noise begins within 10 dB
// of that part's end.
struct Decay {
  std::optional<Seconds> early;  // EDT: 0 to -10 dB
  std::optional<Seconds> t20;    // -5 to -25 dB
  std::optional<Seconds> t30;    // -5 to -35 dB
  Decibels clarity;              // C80: first 80 ms against the rest
  double definition = 0;         // D50: first 50 ms as a share of the whole
  Seconds centre_time;           // Ts: the energy's centre of gravity after the direct sound
  Decibels range;                // of the decay above the noise
};

// Just noticeable differences (ISO 3382-1 annex A, from memory): EDT 5 %, C80 1 dB, D50 0.05, Ts 10 ms.
struct ResponseAnalysis {
  Seconds direct;  // when the direct sound arrives: first sample within 20 dB of the greatest
  Decay whole;     // no filter
  std::array<std::optional<Decay>, octave_band_count> bands;  // nothing above what the rate can carry
};

// One channel (for a room figure the omnidirectional one) sampled at `rate`. Octave bands by sixth-order Butterworth
// filters with edges at the centre times and by the root of two; the filter's own delay is allowed for. The noise floor is
// found by iteration and the decay cut where it reaches it, the lost tail replaced by the decay's continuation. Refused:
// rates under 8 kHz, less than 0.1 s or more than 60 s, silence, samples that are not numbers.
[[nodiscard]] Result<ResponseAnalysis> analyse_response(std::span<const float> samples, Hertz rate);

}  // namespace calcant
