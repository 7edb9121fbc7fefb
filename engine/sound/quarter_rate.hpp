// Most partials of an organ lie under 5 kHz. They are made at a quarter of the sample rate, a quarter of the work, and
// brought up to it once for all pipes of a bus.
#pragma once

#include <span>
#include <vector>

namespace calcant {

class QuarterRate {
 public:
  static constexpr double highest_hz = 5000.0;  // what may stand in the quarter-rate signal
  static constexpr int late = 88;               // samples by which the sum comes after what went in

  QuarterRate();
  // `quarter` brought up to the full rate, plus `full`, both late by the same. Blocks are given in order; `full` and
  // `out` are four times as long as `quarter`. What lies under 5 kHz keeps its level within 0.001 dB; its images, from
  // 7 kHz up, are 100 dB down.
  void join(std::span<const float> quarter, std::span<const float> full, std::span<float> out);

 private:
  std::vector<float> taps_;     // by phase, then by tap
  std::vector<float> quarter_;  // the samples before, then the block's
  std::vector<float> full_;
};

}  // namespace calcant
