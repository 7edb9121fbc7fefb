#include "engine/measuring/fft.hpp"

#include <algorithm>
#include <cmath>
#include <kissfft/kissfft.hh>
#include <map>
#include <numbers>

namespace calcant::measuring {

namespace {

// Kaiser's window (Kaiser 1974): 80 dB of stop band need beta 7.857, and this many taps for a transition of 0.2 / factor.
std::vector<float> low_pass(int factor) {
  if (factor <= 1) return {1.0F};
  const int half = 13 * factor;
  const double beta = 7.857;
  std::vector<double> taps(static_cast<std::size_t>(2 * half + 1));
  double sum = 0.0;
  for (int i = -half; i <= half; ++i) {
    const double x = static_cast<double>(i) / factor;
    const double sinc = i == 0 ? 1.0 : std::sin(std::numbers::pi * x) / (std::numbers::pi * x);
    const double r = static_cast<double>(i) / (half + 1);
    const double w = std::cyl_bessel_i(0.0, beta * std::sqrt(1.0 - r * r));
    taps[static_cast<std::size_t>(i + half)] = sinc * w;
    sum += sinc * w;
  }
  std::vector<float> out(taps.size());
  for (std::size_t i = 0; i < taps.size(); ++i) out[i] = static_cast<float>(taps[i] / sum);
  return out;
}

float dot(const float* a, const float* b, std::size_t n) {
  float s[8] = {};
  std::size_t i = 0;
  for (; i + 8 <= n; i += 8)
    for (std::size_t j = 0; j < 8; ++j) s[j] += a[i + j] * b[i + j];
  for (; i < n; ++i) s[0] += a[i] * b[i];
  return ((s[0] + s[4]) + (s[1] + s[5])) + ((s[2] + s[6]) + (s[3] + s[7]));
}

}  // namespace

struct Fft::State {
  explicit State(std::size_t n) : size(n), plan(n / 2, false), windowed(n), bins(n / 2 + 1), powers(n / 2 + 1) {}
  std::size_t size;
  kissfft<float> plan;
  std::vector<float> windowed;
  std::vector<std::complex<float>> bins;
  std::vector<float> powers;
  std::map<std::size_t, std::vector<float>> windows;
};

Fft::Fft(std::size_t size) : state_(std::make_unique<State>(size)) {}
Fft::Fft(Fft&&) noexcept = default;
Fft& Fft::operator=(Fft&&) noexcept = default;
Fft::~Fft() = default;
std::size_t Fft::size() const { return state_->size; }

std::span<const std::complex<float>> Fft::transform(std::span<const float> x) {
  State& s = *state_;
  s.plan.transform_real(x.data(), s.bins.data());
  // The library packs the last bin into the first one's imaginary part.
  s.bins.back() = {s.bins.front().imag(), 0.0F};
  s.bins.front() = {s.bins.front().real(), 0.0F};
  return s.bins;
}

std::span<const float> Fft::power(std::span<const float> x) {
  State& s = *state_;
  const std::size_t n = std::min(x.size(), s.size);
  auto& window = s.windows[n];
  if (window.empty()) {
    window.resize(n);
    for (std::size_t i = 0; i < n; ++i)
      window[i] = static_cast<float>(
          (1.0 - std::cos(2.0 * std::numbers::pi * (static_cast<double>(i) + 0.5) / static_cast<double>(n))) * 2.0 /
          static_cast<double>(n));
  }
  for (std::size_t i = 0; i < n; ++i) s.windowed[i] = x[i] * window[i];
  std::fill(s.windowed.begin() + static_cast<std::ptrdiff_t>(n), s.windowed.end(), 0.0F);
  const auto bins = transform(s.windowed);
  for (std::size_t i = 0; i < bins.size(); ++i) s.powers[i] = std::norm(bins[i]);
  return s.powers;
}

std::vector<float> thinned(std::span<const float> x, int factor) {
  Thinner t(factor);
  std::vector<float> out;
  out.reserve(x.size() / static_cast<std::size_t>(factor) + 2);
  t.take(x, out);
  t.end(out);
  out.resize((x.size() + static_cast<std::size_t>(factor) - 1) / static_cast<std::size_t>(factor));
  return out;
}

Thinner::Thinner(int factor) : factor_(factor), taps_(low_pass(factor)), held_(taps_.size() / 2, 0.0F) {}

void Thinner::take(std::span<const float> x, std::vector<float>& out) {
  held_.insert(held_.end(), x.begin(), x.end());
  std::size_t at = 0;
  for (; at + taps_.size() <= held_.size(); at += static_cast<std::size_t>(factor_))
    out.push_back(dot(held_.data() + at, taps_.data(), taps_.size()));
  held_.erase(held_.begin(), held_.begin() + static_cast<std::ptrdiff_t>(std::min(at, held_.size())));
}

void Thinner::end(std::vector<float>& out) {
  const std::vector<float> silence(taps_.size() / 2 + static_cast<std::size_t>(factor_), 0.0F);
  take(silence, out);
}

}  // namespace calcant::measuring
