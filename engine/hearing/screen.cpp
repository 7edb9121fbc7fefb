#include "engine/hearing/screen.hpp"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cmath>

#include "engine/hearing/cochlea.hpp"
#include "engine/hearing/kernels.hpp"

namespace calcant {
namespace {

EarSettings coarse(EarSettings how) {
  how.grid = Grid::coarse;
  return how;
}

double power_of(const hearing::Components& c) {
  double sum = 0;
  for (double p : c.power) sum += p;
  return sum;
}

// Phon against the logarithm of sone, at even steps.
constexpr float log2_lowest = -10.0F;
constexpr float rows_to_double = 16.0F;
constexpr std::size_t log2_rows = 21 * 16 + 1;

}  // namespace

struct Screen::Tables {
  Tables(const Ear& ear, const Lines& all)
      : cochlea(coarse(ear.settings())), everything(cochlea.components(cochlea.arrivals(all))) {
    const hearing::Filters& f = cochlea.filters();
    for (std::size_t i = 0; i < kernels::screen_width; ++i) {
      const bool real = i < f.size();
      const auto value = [&](const std::vector<double>& v, float otherwise) {
        return real ? static_cast<float>(v[i]) : otherwise;
      };
      kernel.threshold[i] = value(f.threshold, 1);
      kernel.gain[i] = value(f.gain, 0);
      kernel.a[i] = value(f.a, 1);
      kernel.alpha[i] = value(f.alpha, 1);
      kernel.rest[i] = value(f.rest, 1);
      kernel.bright[i] = value(f.bright, 0);
    }
    factor = static_cast<float>(cochlea.scale() * cochlea.step());
    for (std::size_t k = 0; k < log2_rows; ++k) {
      const double sones = std::exp2(log2_lowest + static_cast<double>(k) / rows_to_double);
      phons[k] = static_cast<float>(ear.phons(Sones{sones}).value());
    }
  }

  Screened screened(const kernels::Excited& a, const kernels::Excited& b) const {
    if (!(a.power + b.power > 0)) return {};
    float sums[2];
    kernels::screen_sums(kernel, everything_log, a, b, sums);
    if (!(sums[0] > 0)) return {};
    Screened s;
    s.sones = factor * sums[0];
    s.acums = sums[1] / sums[0];
    const float x = (std::log2(s.sones) - log2_lowest) * rows_to_double;
    const float within = std::clamp(x, 0.0F, static_cast<float>(log2_rows - 1) - 0.001F);
    const auto k = static_cast<std::size_t>(within);
    s.phons = phons[k] + (phons[k + 1] - phons[k]) * (within - static_cast<float>(k));
    return s;
  }

  hearing::Cochlea cochlea;
  hearing::Components everything;
  kernels::ScreenTables kernel;
  float everything_log = 0;
  float factor;
  std::array<float, log2_rows> phons;
};

Pattern& Pattern::operator+=(const Pattern& other) {
  kernels::Excited& to = excited_;
  const kernels::Excited& from = other.excited_;
  for (std::size_t i = 0; i < kernels::screen_width; ++i) {
    to.alone[i] += from.alone[i];
    to.among[i] += from.among[i];
  }
  to.power += from.power;
  to.power_log += from.power_log;
  return *this;
}

Result<Screen> Screen::make(const Ear& ear, const Lines& everything) {
  if (const auto ok = check_lines(everything); !ok) return tl::unexpected(ok.error());
  auto tables = std::make_shared<Tables>(ear, everything);
  const double power = power_of(tables->everything);
  if (power > 0) tables->everything_log = kernels::log2_of(static_cast<float>(power));
  return Screen(std::move(tables));
}

Result<Pattern> Screen::pattern(const Lines& group) const {
  if (const auto ok = check_lines(group); !ok) return tl::unexpected(ok.error());
  const hearing::Cochlea& cochlea = tables_->cochlea;
  const hearing::Components alone = cochlea.components(cochlea.arrivals(group));
  Pattern p;
  // A millionth of a millionth of the threshold is nothing, and would only be slow to add up.
  const auto put = [](const std::vector<double>& e, float* to) {
    for (std::size_t i = 0; i < e.size(); ++i) to[i] = e[i] < 1e-12 ? 0.0F : static_cast<float>(e[i]);
  };
  put(cochlea.excitation(alone), p.excited_.alone);
  put(cochlea.excitation(cochlea.among(alone, tables_->everything)), p.excited_.among);
  const double power = power_of(alone);
  if (power > 1e-12) {
    p.excited_.power = static_cast<float>(power);
    p.excited_.power_log = p.excited_.power * kernels::log2_of(p.excited_.power);
  }
  return p;
}

Screened Screen::screen(const Pattern& whole) const {
  static const Pattern silence{};
  return tables_->screened(whole.excited_, silence.excited_);
}

Screened Screen::screen(const Pattern& a, const Pattern& b) const { return tables_->screened(a.excited_, b.excited_); }

Screened Screen::screen(std::span<const Pattern* const> groups) const {
  Pattern whole;
  for (const Pattern* p : groups) whole += *p;
  return screen(whole);
}

void Screen::screen_pairs(std::span<const Pattern> a, std::span<const Pattern> b, std::span<Screened> out) const {
  assert(out.size() >= a.size() * b.size());
  Screened* to = out.data();
  for (const Pattern& x : a)
    for (const Pattern& y : b) *to++ = tables_->screened(x.excited_, y.excited_);
}

std::vector<Pattern> every_sum(std::span<const Pattern> groups) {
  assert(groups.size() <= 16);
  std::vector<Pattern> sums(std::size_t{1} << groups.size());
  for (std::size_t m = 1; m < sums.size(); ++m)
    sums[m] = sums[m & (m - 1)] + groups[static_cast<std::size_t>(std::countr_zero(m))];
  return sums;
}

}  // namespace calcant
