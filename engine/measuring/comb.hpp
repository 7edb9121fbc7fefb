// A steady sound taken apart into its harmonics: how loud each is, how its phase runs, and what noise lies round it.
// Inside the part only.
#pragma once

#include <complex>
#include <map>
#include <memory>
#include <span>
#include <vector>

#include "engine/measuring/fft.hpp"
#include "engine/quantity/units.hpp"

namespace calcant::measuring {

// Transforms of the sizes met so far; one a thread.
class Bench {
 public:
  Fft& fft(std::size_t size) { return ffts_.try_emplace(size, size).first->second; }

 private:
  std::map<std::size_t, Fft> ffts_;
};

// Harmonic k's course: x demodulated at k * frequency through a Hann window. Frames stand `hop` seconds apart, the first
// centred `first` seconds after x begins; the window is two hops long.
struct Course {
  double frequency = 0.0;
  double hop = 0.0;
  double first = 0.0;
  std::vector<std::vector<std::complex<float>>> z;  // [harmonic - 1][frame]; |z| is the amplitude

  [[nodiscard]] std::size_t frames() const { return z.empty() ? 0 : z.front().size(); }
};
[[nodiscard]] Course demodulated(std::span<const float> x, double rate, double frequency, int harmonics,
                                 double window_seconds);

// Noise power per hertz (one-sided) between the harmonics of `frequency`, at each of the first `harmonics`: the median
// of a Hann spectrum half-way to the neighbours on both sides.
struct Surroundings {
  std::vector<float> power;      // Hann spectrum, sine of amplitude 1 = 1
  double bin = 0.0;              // hertz a bin
  double noise_bandwidth = 0.0;  // what a sine's |.|^2 must be divided by to be compared with a density
  [[nodiscard]] double density(double low, double high) const;  // half the power of a sine of |.|^2 ...
  [[nodiscard]] double at(double frequency) const;              // |.|^2 between bins, parabola on its logarithm
};
[[nodiscard]] Surroundings surroundings(std::span<const float> x, double rate, Bench& bench);
[[nodiscard]] std::vector<double> noise_beside(const Surroundings& s, double frequency, int harmonics);

// The comb nearest `expected` in `range` cents on both sides, and how well it stands out: the mean over its harmonics of
// the logarithm of power over noise.
struct Coarse {
  double frequency = 0.0;
  double score = 0.0;
};
[[nodiscard]] Coarse coarse_comb(const Surroundings& s, double expected, double range, int harmonics);

}  // namespace calcant::measuring
