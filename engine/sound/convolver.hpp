// Buses through their room responses to two ears, block by block.
//
// Uniformly partitioned overlap-save convolution (Wefers, Partitioned convolution algorithms for real-time
// auralization, 2015): both ears are one complex response left + i right, so each bus costs one transform
// forward, and all buses together one back.
#pragma once

#include <complex>
#include <memory>
#include <span>
#include <vector>

#include "engine/room/response_synthesis.hpp"

namespace calcant {

class Convolver {
 public:
  // One response a bus, any length; block: samples at a time, a power of two.
  Convolver(std::span<const StereoResponse> responses, int block);
  ~Convolver();
  Convolver(Convolver&&) noexcept;
  Convolver& operator=(Convolver&&) noexcept;

  // buses[b]: the next `block` samples of bus b. Overwrites left and right (`block` samples each).
  void process(std::span<const std::vector<float>> buses, std::span<float> left, std::span<float> right);
  // Samples by which the longest response outlasts its input.
  [[nodiscard]] int tail() const { return tail_; }

 private:
  struct Transform;  // keeps the FFT library out of this header
  // Split real and imaginary parts: plain loops over them vectorise, and std::complex's NaN care is left out.
  struct Spectrum {
    std::vector<double> re;
    std::vector<double> im;
  };
  struct Bus {
    std::vector<Spectrum> response;  // by partition
    std::vector<Spectrum> past;      // ring of input spectra
    std::vector<float> last;         // the block before
  };

  int block_;
  int tail_ = 0;
  std::size_t newest_ = 0;
  std::size_t partitions_ = 0;
  std::vector<Bus> buses_;
  std::unique_ptr<Transform> transform_;
};

}  // namespace calcant
