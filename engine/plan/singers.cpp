#include "engine/plan/singers.hpp"

#include <cmath>

namespace calcant {
namespace {

constexpr Metres among_them{6};  // reverberant for most seats of a small church

Lines sung(const Singers& singers, const Scales& scales, const Chord& chord, Decibels each) {
  Lines lines;
  const int treble = chord.right.highest() >= 0 ? chord.right.highest() : 67;
  for (const int octave : {0, -12}) {
    const double f0 = 440 * std::exp2((treble + octave - 69) / 12.0);
    const double total = each.value() + 10 * std::log10(std::max(1.0, singers.count / 2.0));
    double power = 0;
    Lines partials;
    for (int n = 1; n * f0 < 8000; ++n) {
      const double f = n * f0;
      const double fall = f < 1000 ? 6 * std::log2(f / f0) : 6 * std::log2(1000 / f0) + 12 * std::log2(f / 1000);
      power += std::pow(10, -fall / 10);
      partials.push_back({Hertz{f}, Decibels{-fall}});
    }
    const double lift = total - 10 * std::log10(power);
    for (const Line& p : partials) {
      lines.push_back({p.frequency, Decibels{p.level.value() + lift} +
                                        scales.listening().field().transfer(p.frequency, among_them)});
    }
  }
  return lines;
}

Phons mean(const Singers& singers, const Scales& scales, Decibels each) {
  double sum = 0;
  int counted = 0;
  for (const Chord& c : scales.chords()) {
    const auto heard = scales.ear().hear(sung(singers, scales, c, each));
    if (!heard) continue;
    sum += heard->loudness.phons.value();
    ++counted;
  }
  return Phons{counted > 0 ? sum / counted : 0};
}

}  // namespace

SingersLevel loudness(const Singers& singers, const Scales& scales) {
  const Decibels band{singers.band};
  return {mean(singers, scales, singers.each - band), mean(singers, scales, singers.each),
          mean(singers, scales, singers.each + band)};
}

}  // namespace calcant
