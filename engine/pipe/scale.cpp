#include "engine/pipe/scale.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/pipe/usual.hpp"

namespace calcant {
namespace {

constexpr double eight_foot_c = 65.40639;        // Hz, equal temperament at A = 440
constexpr double normal_at_eight_foot = 0.1555;  // m

// Semitones, with fractions, above 8 ft C.
double semitones(Hertz f) { return 12 * std::log2(f.value() / eight_foot_c); }

}  // namespace

Metres normal_scale(Hertz sounding) { return Metres{normal_at_eight_foot * std::exp2(-semitones(sounding) / 16)}; }

double half_tones(Metres diameter, Hertz sounding) { return 16 * std::log2(diameter / normal_scale(sounding)); }

Metres scaled(Hertz sounding, double half_tones) { return normal_scale(sounding) * std::exp2(half_tones / 16); }

Metres equal_area_diameter(Metres width, Metres depth) {
  return Metres{2 * std::sqrt(width.value() * depth.value() / std::numbers::pi)};
}

Hertz nominal_pitch(const Rank& rank, Note key) {
  const Break* at = nullptr;
  for (const Break& b : rank.pitch)
    if (at == nullptr || b.from <= key) at = &b;
  const double harmonic = at == nullptr ? 1 : at->feet.harmonic().to_double();
  return Hertz{harmonic * 440 * std::exp2((key.midi - 69) / 12.0)};
}

Metres diameter(const Rank& rank, Note key) {
  const Hertz pitch = nominal_pitch(rank, key);
  if (rank.scale.empty()) return scaled(pitch, known(rank.half_tones) ? rank.half_tones.value : usual(rank).half_tones);
  // Marks are interpolated as half-tones off normal scale, so that beyond and between them the normal progression holds.
  const auto off = [&](const ScaleMark& m) { return half_tones(m.diameter, nominal_pitch(rank, m.key)); };
  const ScaleMark* below = nullptr;
  const ScaleMark* above = nullptr;
  for (const ScaleMark& m : rank.scale) {
    if (m.key <= key && (below == nullptr || m.key > below->key)) below = &m;
    if (m.key >= key && (above == nullptr || m.key < above->key)) above = &m;
  }
  if (below == nullptr) return scaled(pitch, off(*above));
  if (above == nullptr || above->key == below->key) return scaled(pitch, off(*below));
  const double share = static_cast<double>(key.midi - below->key.midi) / (above->key.midi - below->key.midi);
  return scaled(pitch, off(*below) + share * (off(*above) - off(*below)));
}

}  // namespace calcant
