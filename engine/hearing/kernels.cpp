#include "engine/hearing/kernels.hpp"

#include <algorithm>
#include <bit>
#include <cstdint>

// Built twice, for any x86-64 and for those with 8 floats to a register; the loader picks. The sanitizers'
// runtimes are not up yet when it does, so they get the plain build.
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) && !defined(__SANITIZE_ADDRESS__) && \
    !defined(__SANITIZE_THREAD__)
#define CALCANT_CLONES __attribute__((target_clones("default", "arch=x86-64-v3")))
#else
#define CALCANT_CLONES
#endif
#define CALCANT_INLINE inline __attribute__((always_inline))

namespace calcant::kernels {
namespace {

// e^-u for u >= 0, to 3e-13: 2^n from the exponent bits, the rest by the series of 2^r, |r| <= 1/2.
CALCANT_INLINE double exp_minus(double u) {
  constexpr double log2_e = 1.4426950408889634074;
  constexpr double rounder =
      6755399441055744.0;  // 1.5 * 2^52: adding it leaves the nearest whole number in the low bits
  const double y = -std::min(u, 700.0) * log2_e;
  const double shifted = y + rounder;
  const double r = y - (shifted - rounder);
  const auto bits = std::bit_cast<std::uint64_t>(shifted) << 52;
  double s = 7.0549116208011233e-09;
  s = s * r + 1.0178086009239699e-07;
  s = s * r + 1.3215486790144309e-06;
  s = s * r + 1.5252733804059841e-05;
  s = s * r + 1.5403530393381609e-04;
  s = s * r + 1.3333558146428443e-03;
  s = s * r + 9.6181291076284772e-03;
  s = s * r + 5.5504108664821580e-02;
  s = s * r + 2.4022650695910071e-01;
  s = s * r + 6.9314718055994531e-01;
  s = s * r + 1.0;
  return std::bit_cast<double>(std::bit_cast<std::uint64_t>(s) + bits);
}

CALCANT_INLINE double roex(double u) {
  return (1.0 + u) * exp_minus(u);
}

}  // namespace

CALCANT_CLONES
double level_sum(const double* f, const double* power, std::size_t n, double centre, double p) {
  constexpr std::size_t lanes = 8;
  const double q = p / centre;
  double sum[lanes] = {};
  std::size_t k = 0;
  for (; k + lanes <= n; k += lanes) {
    for (std::size_t l = 0; l < lanes; ++l) {
      const double away = f[k + l] - centre;
      sum[l] += power[k + l] * roex(q * (away < 0 ? -away : away));
    }
  }
  for (; k < n; ++k) {
    const double away = f[k] - centre;
    sum[k % lanes] += power[k] * roex(q * (away < 0 ? -away : away));
  }
  return ((sum[0] + sum[1]) + (sum[2] + sum[3])) + ((sum[4] + sum[5]) + (sum[6] + sum[7]));
}

CALCANT_CLONES
void add_upper_side(const double* __restrict slope, const double* __restrict p, std::size_t n, double f,
                    double power, double* __restrict out) {
  for (std::size_t i = 0; i < n; ++i) out[i] += power * roex(slope[i] * f - p[i]);
}

CALCANT_CLONES
void add_lower_side(const double* __restrict p, const double* __restrict inverse_centre, std::size_t n,
                    double f, double skirt, double power, double* __restrict out) {
  for (std::size_t i = 0; i < n; ++i) {
    const double side = p[i] * skirt;
    out[i] += power * roex((side < 0.1 ? 0.1 : side) * (1.0 - f * inverse_centre[i]));
  }
}

}  // namespace calcant::kernels
