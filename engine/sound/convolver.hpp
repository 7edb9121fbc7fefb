// Buses through their room responses to two ears, block by block.
//
// Uniformly partitioned overlap-save convolution (Wefers, Partitioned convolution algorithms for real-time
// auralization, 2015). Two buses share a transform forward, and both ears one back.
#pragma once

#include <complex>
#include <cstddef>
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

  // buses[b]: the next `block` samples of bus b. Overwrites left and right (`block` samples each). The same on any number
  // of threads.
  void process(std::span<const std::vector<float>> buses, std::span<float> left, std::span<float> right,
               int threads = 1);
  // Samples by which the longest response outlasts its input.
  [[nodiscard]] int tail() const { return tail_; }

 private:
  struct Transform;  // keeps the FFT library out of this header
  // Bins 0 to `block` of a real signal's spectrum, real and imaginary parts apart so that plain loops vectorise. Single
  // precision: its rounding stays 130 dB under the sound, and half the memory passes through.
  struct Spectrum {
    std::vector<float> re;
    std::vector<float> im;
  };
  struct Bus {
    std::vector<Spectrum> left;  // the response by partition
    std::vector<Spectrum> right;
    std::vector<Spectrum> past;  // ring of input spectra
    std::vector<float> last;     // the block before
  };
  [[nodiscard]] Spectrum empty() const;
  void take_in(std::span<const std::vector<float>> buses);
  void add_products(std::size_t from, std::size_t to);

  int block_;
  int tail_ = 0;
  std::size_t newest_ = 0;
  std::size_t partitions_ = 1;
  std::vector<Bus> buses_;
  Spectrum left_;
  Spectrum right_;
  std::unique_ptr<Transform> transform_;
};

}  // namespace calcant
