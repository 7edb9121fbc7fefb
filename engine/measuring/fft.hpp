// The spectrum of a block of samples, and thinning a recording out to a lower rate.
#pragma once

#include <complex>
#include <memory>
#include <span>
#include <vector>

namespace calcant::measuring {

// Real transform of one fixed size, a power of two of at least 4. Not to be shared between threads.
class Fft {
 public:
  explicit Fft(std::size_t size);
  Fft(Fft&&) noexcept;
  Fft& operator=(Fft&&) noexcept;
  ~Fft();
  [[nodiscard]] std::size_t size() const;
  // sum x[n] exp(-2 pi i k n / size) for k = 0 .. size/2; x holds `size` samples. Valid until the next call.
  [[nodiscard]] std::span<const std::complex<float>> transform(std::span<const float> x);
  // The same after a Hann window that would show a sine of amplitude 1 as 1: |.|^2. x may be shorter (zeros follow; the
  // window spans x).
  [[nodiscard]] std::span<const float> power(std::span<const float> x);

 private:
  struct State;
  std::unique_ptr<State> state_;
};

// Keeps every `factor`-th sample after a linear-phase low-pass: flat to 0.4 of the new rate, 80 dB down from 0.6 of it.
// Output n stands at input n * factor exactly; the ends are padded with silence.
[[nodiscard]] std::vector<float> thinned(std::span<const float> x, int factor);

// The same for a stream: blocks in, blocks out, output n at input n * factor (so the output lags by the filter).
class Thinner {
 public:
  explicit Thinner(int factor);
  // Appends to `out` what can be said after `x`.
  void take(std::span<const float> x, std::vector<float>& out);
  // The last outputs, as if silence followed.
  void end(std::vector<float>& out);

 private:
  int factor_;
  std::vector<float> taps_;
  std::vector<float> held_;  // input not yet done with; starts with half a filter of silence
};

[[nodiscard]] constexpr std::size_t power_of_two_from(std::size_t n) {
  std::size_t p = 4;
  while (p < n) p *= 2;
  return p;
}

}  // namespace calcant::measuring
