#include "engine/measuring/fft.hpp"

#include <algorithm>
#include <cmath>
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

// A complex transform of a power of two by Stockham's method (Cochran et al., Proc. IEEE 55 (1967) 1664), four at a time:
// in natural order throughout, with real and imaginary parts apart, so that the compiler can keep them in vectors.
struct Fft::State {
  // One pass over blocks of `n` points, each turned by its powers of exp(-2 pi i / n).
  struct Pass {
    std::size_t n = 0;
    std::vector<float> re[3];
    std::vector<float> im[3];
  };

  explicit State(std::size_t points)
      : size(points),
        half(points / 2),
        re{std::vector<float>(half), std::vector<float>(half)},
        im{std::vector<float>(half), std::vector<float>(half)},
        windowed(points),
        bins(half + 1),
        powers(half + 1) {
    for (std::size_t n = half; n >= 4; n /= 4) {
      Pass pass;
      pass.n = n;
      for (int k = 0; k < 3; ++k) {
        for (std::size_t p = 0; p < n / 4; ++p) {
          const double angle = -2.0 * std::numbers::pi * (k + 1) * static_cast<double>(p) / static_cast<double>(n);
          pass.re[k].push_back(static_cast<float>(std::cos(angle)));
          pass.im[k].push_back(static_cast<float>(std::sin(angle)));
        }
      }
      passes.push_back(std::move(pass));
    }
    for (std::size_t k = 0; k <= half / 2; ++k)
      turn.push_back(std::polar(
          1.0F, static_cast<float>(-2.0 * std::numbers::pi * static_cast<double>(k) / static_cast<double>(size))));
  }

  // The complex transform of re[0], im[0]; returns in which of the two it is.
  int run() {
    int at = 0;
    std::size_t stride = 1;
    std::size_t n = half;
    for (const Pass& pass : passes) {
      four(pass, stride, at);
      at = 1 - at;
      stride *= 4;
      n /= 4;
    }
    if (n == 2) {
      const float* xr = re[at].data();
      const float* xi = im[at].data();
      float* yr = re[1 - at].data();
      float* yi = im[1 - at].data();
      for (std::size_t q = 0; q < stride; ++q) {
        yr[q] = xr[q] + xr[q + stride];
        yi[q] = xi[q] + xi[q + stride];
        yr[q + stride] = xr[q] - xr[q + stride];
        yi[q + stride] = xi[q] - xi[q + stride];
      }
      at = 1 - at;
    }
    return at;
  }

  void four(const Pass& pass, std::size_t stride, int at) {
    const std::size_t quarter = pass.n / 4;
    const std::size_t apart = stride * quarter;
    const float* __restrict xr = re[at].data();
    const float* __restrict xi = im[at].data();
    float* __restrict yr = re[1 - at].data();
    float* __restrict yi = im[1 - at].data();
    const auto one = [&](std::size_t from, std::size_t to, std::size_t step, float w1r, float w1i, float w2r, float w2i,
                         float w3r, float w3i) {
      const float ar = xr[from] + xr[from + 2 * apart];
      const float ai = xi[from] + xi[from + 2 * apart];
      const float br = xr[from] - xr[from + 2 * apart];
      const float bi = xi[from] - xi[from + 2 * apart];
      const float cr = xr[from + apart] + xr[from + 3 * apart];
      const float ci = xi[from + apart] + xi[from + 3 * apart];
      const float dr = xr[from + apart] - xr[from + 3 * apart];
      const float di = xi[from + apart] - xi[from + 3 * apart];
      yr[to] = ar + cr;
      yi[to] = ai + ci;
      const float er = br + di;  // b - i d
      const float ei = bi - dr;
      yr[to + step] = er * w1r - ei * w1i;
      yi[to + step] = er * w1i + ei * w1r;
      const float fr = ar - cr;
      const float fi = ai - ci;
      yr[to + 2 * step] = fr * w2r - fi * w2i;
      yi[to + 2 * step] = fr * w2i + fi * w2r;
      const float gr = br - di;  // b + i d
      const float gi = bi + dr;
      yr[to + 3 * step] = gr * w3r - gi * w3i;
      yi[to + 3 * step] = gr * w3i + gi * w3r;
    };
    const float* w[6] = {pass.re[0].data(), pass.im[0].data(), pass.re[1].data(),
                         pass.im[1].data(), pass.re[2].data(), pass.im[2].data()};
    if (stride == 1) {
      for (std::size_t p = 0; p < quarter; ++p) one(p, 4 * p, 1, w[0][p], w[1][p], w[2][p], w[3][p], w[4][p], w[5][p]);
      return;
    }
    for (std::size_t p = 0; p < quarter; ++p) {
      const float w1r = w[0][p], w1i = w[1][p], w2r = w[2][p], w2i = w[3][p], w3r = w[4][p], w3i = w[5][p];
      for (std::size_t q = 0; q < stride; ++q)
        one(q + stride * p, q + 4 * stride * p, stride, w1r, w1i, w2r, w2i, w3r, w3i);
    }
  }

  std::size_t size;
  std::size_t half;
  std::vector<Pass> passes;
  std::vector<float> re[2];
  std::vector<float> im[2];
  std::vector<std::complex<float>> turn;
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
  // Even samples as real, odd ones as imaginary part; then the two are told apart by their symmetry.
  for (std::size_t i = 0; i < s.half; ++i) {
    s.re[0][i] = x[2 * i];
    s.im[0][i] = x[2 * i + 1];
  }
  const int at = s.run();
  const float* zr = s.re[at].data();
  const float* zi = s.im[at].data();
  s.bins[0] = {zr[0] + zi[0], 0.0F};
  s.bins[s.half] = {zr[0] - zi[0], 0.0F};
  for (std::size_t k = 1; k <= s.half / 2; ++k) {
    const std::size_t m = s.half - k;
    const float er = 0.5F * (zr[k] + zr[m]);
    const float ei = 0.5F * (zi[k] - zi[m]);
    const float dr = 0.5F * (zi[k] + zi[m]);
    const float di = 0.5F * (zr[m] - zr[k]);
    const float wr = s.turn[k].real();
    const float wi = s.turn[k].imag();
    const float tr = dr * wr - di * wi;
    const float ti = dr * wi + di * wr;
    s.bins[k] = {er + tr, ei + ti};
    s.bins[m] = {er - tr, ti - ei};
  }
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
