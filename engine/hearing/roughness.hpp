// Roughness and beats between the lines of a sound: what sets a mixture's bite or a celeste's waving apart from a smooth
// chorus of the same loudness.
#pragma once

#include <cstddef>
#include <vector>

#include "engine/hearing/loudness.hpp"

namespace calcant {

// Two lines near enough to be heard as one that beats.
struct Beat {
  Hertz rate;       // beats per second
  Hertz frequency;  // of the beating line: the mean of the two by power
  Decibels depth;   // level of the softer line under the louder, 0 (beats to silence) down to -20; softer is not listed
  Decibels level;   // of the louder line at the listener, dB SPL
};

inline constexpr std::size_t most_beats = 64;

struct Roughness {
  // After Vassilakis (2001, 2005) over all pairs of lines, amplitudes as the inner ear gets them, relative to the
  // loudest. Ours: each pair counts by its share of what the ear has there, threshold included, because the formula
  // itself makes pairs too soft to hear, or buried under louder ones, nearly as rough as loud ones. No unit and no
  // absolute meaning: larger is rougher, about 17 % more can be told (Zwicker & Fastl).
  double index = 0;
  std::vector<Beat> beats;  // loudest first, at most most_beats: 0.2 to 15 a second
};

// Lines closer than 1 Hz count as one in the roughness (in-tune partials of several pipes), pairs that beat slower than
// 15 a second as beats and not as roughness. Refuses what check_lines refuses.
[[nodiscard]] Result<Roughness> roughness(const Ear& ear, const Lines& lines);

// What one pair of lines adds: the lower's frequency, how far the other is above it, and their linear amplitudes.
[[nodiscard]] double vassilakis(Hertz lower, Hertz apart, double amplitude, double other);

}  // namespace calcant
