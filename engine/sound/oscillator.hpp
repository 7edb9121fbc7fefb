// The innermost loop of the renderer: a sinusoid whose amplitude moves in a straight line.
#pragma once

#include <array>

namespace calcant {

class Oscillator {
 public:
  static constexpr int piece = 64;  // samples made at a time

  Oscillator() = default;
  // phase: cycles; cycles: per sample, below 1/2.
  Oscillator(double phase, double cycles);
  // Goes on from where it is at another frequency.
  void retune(double cycles);
  // Adds the next `piece` samples to `out`, the amplitude going from `from` to just before `to`.
  void add(float from, float to, float* out);

 private:
  static constexpr int lanes = 8;
  double sine_ = 0;  // at the next sample
  double cosine_ = 1;
  double piece_sine_ = 0;  // the turn of one piece
  double piece_cosine_ = 1;
  std::array<float, lanes> lane_sine_{};  // the turns of 0 .. 7 samples
  std::array<float, lanes> lane_cosine_{};
  float turn_sine_ = 0;  // the turn of eight samples
  float turn_cosine_ = 1;
};

}  // namespace calcant
