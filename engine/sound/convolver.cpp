#include "engine/sound/convolver.hpp"

#include <algorithm>
#include <kissfft/kissfft.hh>

#include "engine/sound/clones.hpp"
#include "engine/sound/in_parallel.hpp"

namespace calcant {
namespace {

constexpr std::size_t chunk = 2048;  // bins that one thread adds up at a time

CALCANT_CLONES void add_product(const float* x_re, const float* x_im, const float* h_re, const float* h_im,
                                float* to_re, float* to_im, std::size_t n) {
  for (std::size_t i = 0; i < n; ++i) {
    to_re[i] += x_re[i] * h_re[i] - x_im[i] * h_im[i];
    to_im[i] += x_re[i] * h_im[i] + x_im[i] * h_re[i];
  }
}

}  // namespace

struct Convolver::Transform {
  explicit Transform(std::size_t size) : forward(size, false), backward(size, true), in(size), out(size) {}
  // Of two real signals at once, which stand in the real and the imaginary part of `in`.
  void run(Spectrum& first, Spectrum& second) {
    forward.transform(in.data(), out.data());
    const std::size_t n = out.size();
    for (std::size_t k = 0; k <= n / 2; ++k) {
      const std::complex<double> a = out[k];
      const std::complex<double> b = out[(n - k) % n];
      first.re[k] = static_cast<float>((a.real() + b.real()) / 2);
      first.im[k] = static_cast<float>((a.imag() - b.imag()) / 2);
      second.re[k] = static_cast<float>((a.imag() + b.imag()) / 2);
      second.im[k] = static_cast<float>((b.real() - a.real()) / 2);
    }
  }
  kissfft<double> forward;
  kissfft<double> backward;
  std::vector<std::complex<double>> in;
  std::vector<std::complex<double>> out;
};

Convolver::Spectrum Convolver::empty() const {
  const auto bins = static_cast<std::size_t>(block_) + 1;
  return {std::vector<float>(bins), std::vector<float>(bins)};
}

Convolver::Convolver(std::span<const StereoResponse> responses, int block)
    : block_(block), transform_(std::make_unique<Transform>(static_cast<std::size_t>(2 * block))) {
  const auto step = static_cast<std::size_t>(block);
  for (const StereoResponse& r : responses) {
    const std::size_t length = std::max(r.left.size(), r.right.size());
    partitions_ = std::max(partitions_, (length + step - 1) / step);
    tail_ = std::max(tail_, static_cast<int>(length));
  }
  left_ = right_ = empty();
  for (const StereoResponse& r : responses) {
    Bus bus;
    bus.last.assign(step, 0.0F);
    bus.past.assign(partitions_, empty());
    for (std::size_t p = 0; p * step < std::max(r.left.size(), r.right.size()); ++p) {
      std::fill(transform_->in.begin(), transform_->in.end(), 0.0);
      for (std::size_t i = 0; i < step; ++i) {
        const std::size_t at = p * step + i;
        transform_->in[i] = {at < r.left.size() ? r.left[at] : 0.0F, at < r.right.size() ? r.right[at] : 0.0F};
      }
      bus.left.push_back(empty());
      bus.right.push_back(empty());
      transform_->run(bus.left.back(), bus.right.back());
    }
    buses_.push_back(std::move(bus));
  }
}

Convolver::~Convolver() = default;
Convolver::Convolver(Convolver&&) noexcept = default;
Convolver& Convolver::operator=(Convolver&&) noexcept = default;

void Convolver::take_in(std::span<const std::vector<float>> buses) {
  const auto step = static_cast<std::size_t>(block_);
  newest_ = (newest_ + 1) % partitions_;
  Spectrum nobody = empty();
  for (std::size_t b = 0; b < buses_.size(); b += 2) {
    const bool two = b + 1 < buses_.size();
    for (std::size_t i = 0; i < step; ++i) {
      transform_->in[i] = {buses_[b].last[i], two ? buses_[b + 1].last[i] : 0.0F};
      transform_->in[step + i] = {buses[b][i], two ? buses[b + 1][i] : 0.0F};
    }
    transform_->run(buses_[b].past[newest_], two ? buses_[b + 1].past[newest_] : nobody);
    for (std::size_t a = b; a < std::min(b + 2, buses_.size()); ++a) buses_[a].last = buses[a];
  }
}

void Convolver::add_products(std::size_t from, std::size_t to) {
  for (Spectrum* s : {&left_, &right_}) {
    std::fill(s->re.begin() + static_cast<long>(from), s->re.begin() + static_cast<long>(to), 0.0F);
    std::fill(s->im.begin() + static_cast<long>(from), s->im.begin() + static_cast<long>(to), 0.0F);
  }
  for (const Bus& bus : buses_) {
    for (std::size_t p = 0; p < bus.left.size(); ++p) {
      const Spectrum& x = bus.past[(newest_ + partitions_ - p) % partitions_];
      const auto add = [&](const Spectrum& h, Spectrum& sum) {
        add_product(&x.re[from], &x.im[from], &h.re[from], &h.im[from], &sum.re[from], &sum.im[from], to - from);
      };
      add(bus.left[p], left_);
      add(bus.right[p], right_);
    }
  }
}

void Convolver::process(std::span<const std::vector<float>> buses, std::span<float> left, std::span<float> right,
                        int threads) {
  take_in(buses);
  const std::size_t bins = static_cast<std::size_t>(block_) + 1;
  in_parallel((bins + chunk - 1) / chunk, threads,
              [&](std::size_t i) { add_products(i * chunk, std::min(bins, (i + 1) * chunk)); });
  // left + i right, whose spectrum needs its other half too.
  const auto size = static_cast<std::size_t>(2 * block_);
  for (std::size_t k = 0; k < bins; ++k) {
    transform_->in[k] = {left_.re[k] - right_.im[k], left_.im[k] + right_.re[k]};
    if (k > 0 && k < bins - 1) transform_->in[size - k] = {left_.re[k] + right_.im[k], right_.re[k] - left_.im[k]};
  }
  transform_->backward.transform(transform_->in.data(), transform_->out.data());
  const double scale = 1.0 / static_cast<double>(size);
  for (std::size_t i = 0; i < static_cast<std::size_t>(block_); ++i) {
    const std::complex<double> sample = transform_->out[static_cast<std::size_t>(block_) + i];
    left[i] = static_cast<float>(sample.real() * scale);
    right[i] = static_cast<float>(sample.imag() * scale);
  }
}

}  // namespace calcant
