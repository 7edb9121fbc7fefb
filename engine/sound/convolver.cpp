#include "engine/sound/convolver.hpp"

#include <algorithm>
#include <kissfft/kissfft.hh>

namespace calcant {

struct Convolver::Transform {
  explicit Transform(int size)
      : forward(static_cast<std::size_t>(size), false),
        backward(static_cast<std::size_t>(size), true),
        in(static_cast<std::size_t>(size)),
        out(static_cast<std::size_t>(size)) {}
  void run(kissfft<double>& plan, Spectrum& to) {
    plan.transform(in.data(), out.data());
    for (std::size_t i = 0; i < out.size(); ++i) {
      to.re[i] = out[i].real();
      to.im[i] = out[i].imag();
    }
  }
  kissfft<double> forward;
  kissfft<double> backward;
  std::vector<std::complex<double>> in;
  std::vector<std::complex<double>> out;
};

Convolver::Convolver(std::span<const StereoResponse> responses, int block)
    : block_(block), transform_(std::make_unique<Transform>(2 * block)) {
  const auto size = static_cast<std::size_t>(2 * block);
  const auto step = static_cast<std::size_t>(block);
  for (const StereoResponse& r : responses) {
    const std::size_t length = std::max(r.left.size(), r.right.size());
    partitions_ = std::max(partitions_, (length + step - 1) / step);
    tail_ = std::max(tail_, static_cast<int>(length));
  }
  partitions_ = std::max<std::size_t>(partitions_, 1);
  for (const StereoResponse& r : responses) {
    Bus bus;
    bus.last.assign(step, 0.0F);
    bus.past.assign(partitions_, Spectrum{std::vector<double>(size), std::vector<double>(size)});
    for (std::size_t p = 0; p * step < std::max(r.left.size(), r.right.size()); ++p) {
      std::fill(transform_->in.begin(), transform_->in.end(), 0.0);
      for (std::size_t i = 0; i < step; ++i) {
        const std::size_t at = p * step + i;
        transform_->in[i] = {at < r.left.size() ? r.left[at] : 0.0F, at < r.right.size() ? r.right[at] : 0.0F};
      }
      Spectrum s{std::vector<double>(size), std::vector<double>(size)};
      transform_->run(transform_->forward, s);
      bus.response.push_back(std::move(s));
    }
    buses_.push_back(std::move(bus));
  }
}

Convolver::~Convolver() = default;
Convolver::Convolver(Convolver&&) noexcept = default;
Convolver& Convolver::operator=(Convolver&&) noexcept = default;

void Convolver::process(std::span<const std::vector<float>> buses, std::span<float> left, std::span<float> right) {
  const auto size = static_cast<std::size_t>(2 * block_);
  const auto step = static_cast<std::size_t>(block_);
  newest_ = (newest_ + 1) % partitions_;
  std::vector<double> re(size);
  std::vector<double> im(size);
  for (std::size_t b = 0; b < buses_.size(); ++b) {
    Bus& bus = buses_[b];
    for (std::size_t i = 0; i < step; ++i) {
      transform_->in[i] = bus.last[i];
      transform_->in[step + i] = buses[b][i];
      bus.last[i] = buses[b][i];
    }
    transform_->run(transform_->forward, bus.past[newest_]);
    for (std::size_t p = 0; p < bus.response.size(); ++p) {
      const Spectrum& x = bus.past[(newest_ + partitions_ - p) % partitions_];
      const Spectrum& h = bus.response[p];
      for (std::size_t i = 0; i < size; ++i) {
        re[i] += x.re[i] * h.re[i] - x.im[i] * h.im[i];
        im[i] += x.re[i] * h.im[i] + x.im[i] * h.re[i];
      }
    }
  }
  for (std::size_t i = 0; i < size; ++i) transform_->in[i] = {re[i], im[i]};
  transform_->backward.transform(transform_->in.data(), transform_->out.data());
  const double scale = 1.0 / static_cast<double>(size);
  for (std::size_t i = 0; i < step; ++i) {
    left[i] = static_cast<float>(transform_->out[step + i].real() * scale);
    right[i] = static_cast<float>(transform_->out[step + i].imag() * scale);
  }
}

}  // namespace calcant
