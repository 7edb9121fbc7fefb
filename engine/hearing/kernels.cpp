#include "engine/hearing/kernels.hpp"

#include <algorithm>
#include <bit>
#include <cstdint>
#include <cstring>

// Built twice, for any x86-64 and for those with 8 floats to a register; the loader picks. The sanitizers'
// runtimes are not up yet when it does, so they get the plain build.
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) && !defined(__SANITIZE_ADDRESS__) && \
    !defined(__SANITIZE_THREAD__)
#define CALCANT_CLONES __attribute__((target_clones("default", "arch=x86-64-v3", "arch=x86-64-v4")))
#else
#define CALCANT_CLONES
#endif
#define CALCANT_INLINE inline __attribute__((always_inline))

namespace calcant::kernels {
namespace {

// Sums run in eight lanes that are added up at the end, whatever the processor's registers hold.
constexpr std::size_t lanes = 8;
using Floats = float __attribute__((vector_size(lanes * sizeof(float))));
using Ints = std::int32_t __attribute__((vector_size(lanes * sizeof(std::int32_t))));
constexpr Ints lane_numbers{0, 1, 2, 3, 4, 5, 6, 7};
#define CALCANT_TOTAL(s) (((s[0] + s[1]) + (s[2] + s[3])) + ((s[4] + s[5]) + (s[6] + s[7])))

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

// By the series of artanh on [0.7, 1.4].
CALCANT_INLINE float log2_inline(float x) {
  const auto bits = std::bit_cast<std::int32_t>(x);
  const std::int32_t k = (bits - 0x3f3504f3) >> 23;
  const float m = std::bit_cast<float>(bits - (k << 23));
  const float s = (m - 1.0F) / (m + 1.0F);
  const float s2 = s * s;
  float log2 = 0.41219859F;
  log2 = log2 * s2 + 0.57707802F;
  log2 = log2 * s2 + 0.96179669F;
  log2 = log2 * s2 + 2.8853901F;
  return log2 * s + static_cast<float>(k);
}

// x^y for normal x > 0 and results well within float's range, to 1e-6.
CALCANT_INLINE float power(float x, float y) {
  constexpr float rounder = 12582912.0F;  // 1.5 * 2^23
  const float z = y * log2_inline(x);
  const float shifted = z + rounder;
  const float r = z - (shifted - rounder);
  float e = 1.5403530e-4F;
  e = e * r + 1.3333558e-3F;
  e = e * r + 9.6181291e-3F;
  e = e * r + 5.5504109e-2F;
  e = e * r + 2.4022651e-1F;
  e = e * r + 6.9314718e-1F;
  e = e * r + 1.0F;
  return std::bit_cast<float>(std::bit_cast<std::int32_t>(e) + (std::bit_cast<std::int32_t>(shifted) << 23));
}

CALCANT_INLINE double roex(double u) { return (1.0 + u) * exp_minus(u); }

// The same to 1e-6.
CALCANT_INLINE float roex(float u) {
  constexpr float log2_e = 1.44269504F;
  constexpr float rounder = 12582912.0F;  // 1.5 * 2^23
  const float y = std::min(u, 80.0F) * -log2_e;
  const float shifted = y + rounder;
  const float r = y - (shifted - rounder);
  float e = r * 1.5403530e-4F + 1.3333558e-3F;
  e = e * r + 9.6181291e-3F;
  e = e * r + 5.5504109e-2F;
  e = e * r + 2.4022651e-1F;
  e = e * r + 6.9314718e-1F;
  e = e * r + 1.0F;
  return (1.0F + u) *
         std::bit_cast<float>(std::bit_cast<std::int32_t>(e) + (std::bit_cast<std::int32_t>(shifted) << 23));
}

// The same of eight at a time: what a level is good for.
CALCANT_INLINE void roex(Floats& u) {
  constexpr float log2_e = 1.44269504F;
  constexpr float rounder = 12582912.0F;  // 1.5 * 2^23
  const Floats y = (u < 80.0F ? u : Floats{} + 80.0F) * -log2_e;
  const Floats shifted = y + rounder;
  const Floats r = y - (shifted - rounder);
  Floats e = r * 1.5403530e-4F + 1.3333558e-3F;
  e = e * r + 9.6181291e-3F;
  e = e * r + 5.5504109e-2F;
  e = e * r + 2.4022651e-1F;
  e = e * r + 6.9314718e-1F;
  e = e * r + 1.0F;
  Ints bits;
  Ints whole;
  std::memcpy(&bits, &e, sizeof bits);
  std::memcpy(&whole, &shifted, sizeof whole);
  bits += whole << 23;
  std::memcpy(&e, &bits, sizeof e);
  u = (1.0F + u) * e;
}

}  // namespace

CALCANT_CLONES
float level_sum(const float* f, const float* power, std::size_t n, float centre, float p) {
  const float q = p / centre;
  Floats sum{};
  for (std::size_t k = 0; k < n; k += lanes) {
    Floats at;
    Floats of;
    std::memcpy(&at, f + k, sizeof at);
    std::memcpy(&of, power + k, sizeof of);
    const Floats away = at - centre;
    Floats passed = q * (away < 0.0F ? -away : away);
    roex(passed);
    passed *= of;
    sum += k + lanes <= n ? passed : (lane_numbers < static_cast<std::int32_t>(n - k) ? passed : Floats{});
  }
  return CALCANT_TOTAL(sum);
}

CALCANT_CLONES
void add_upper_side(const double* __restrict slope, const double* __restrict p, std::size_t n, double f, double power,
                    double* __restrict out) {
  for (std::size_t i = 0; i < n; ++i) out[i] += power * roex(slope[i] * f - p[i]);
}

CALCANT_CLONES
void add_lower_side(const double* __restrict p, const double* __restrict inverse_centre, std::size_t n, double f,
                    double skirt, double power, double* __restrict out) {
  for (std::size_t i = 0; i < n; ++i) {
    const double side = p[i] * skirt;
    out[i] += power * roex((side < 0.1 ? 0.1 : side) * (1.0 - f * inverse_centre[i]));
  }
}

CALCANT_CLONES
void add_upper_side(const float* __restrict slope, const float* __restrict p, std::size_t n, float f, float power,
                    float* __restrict out) {
  for (std::size_t i = 0; i < n; ++i) out[i] += power * roex(slope[i] * f - p[i]);
}

CALCANT_CLONES
void add_lower_side(const float* __restrict p, const float* __restrict inverse_centre, std::size_t n, float f,
                    float skirt, float power, float* __restrict out) {
  for (std::size_t i = 0; i < n; ++i) {
    const float side = p[i] * skirt;
    out[i] += power * roex((side < 0.1F ? 0.1F : side) * (1.0F - f * inverse_centre[i]));
  }
}

CALCANT_CLONES
void add_share(const double* __restrict in, double share, std::size_t n, double* __restrict out) {
  for (std::size_t i = 0; i < n; ++i) out[i] += share * in[i];
}

CALCANT_CLONES
void add(const float* __restrict in, std::size_t n, float* __restrict out) {
  for (std::size_t i = 0; i < n; ++i) out[i] += in[i];
}

CALCANT_CLONES
void to_logs(float* x, std::size_t n) {
  for (std::size_t i = 0; i < n; ++i) x[i] = log2_inline(x[i] + 1e-30F);
}

float log2_of(float x) { return log2_inline(x); }

CALCANT_CLONES
void screen_sums(const ScreenTables& t, float everything, const Excited& a, const Excited& b, float* __restrict sums) {
  alignas(64) float specific[screen_width];
  // How far the sound has come from each group alone (0) to everything there is (1), as levels go; a skirt's
  // excitation grows faster than that. 0.7 was chosen on random organ sounds and is the screen's only fitted
  // figure.
  const float together = a.power + b.power;
  const float alone = (a.power_log + b.power_log) / together;
  const float way = (log2_inline(together) - alone) / (everything - alone);
  const float kept = !(way > 0.0F) ? 0.0F : way < 1.0F ? way : 1.0F;
  const float towards = kept * (0.3F + 0.7F * kept);
  for (std::size_t i = 0; i < screen_width; ++i) {
    const float own = a.alone[i] + b.alone[i];
    const float e = own + towards * ((a.among[i] + b.among[i]) - own);
    const bool over = e > 1e10F;
    const float core = power(over ? e * (1.0F / 1.0707F) : t.gain[i] * e + t.a[i], over ? 0.2F : t.alpha[i]) -
                       (over ? 0.0F : t.rest[i]);
    const float share = 2.0F * e / (e + t.threshold[i]);
    const float under = share < 1.0F ? share : 1.0F;
    specific[i] = core * under * __builtin_sqrtf(under);
  }
  Floats loud{};
  Floats bright{};
  for (std::size_t i = 0; i < screen_width; i += lanes) {
    Floats s;
    Floats weight;
    std::memcpy(&s, specific + i, sizeof s);
    std::memcpy(&weight, t.bright + i, sizeof weight);
    loud += s;
    bright += s * weight;
  }
  sums[0] = CALCANT_TOTAL(loud);
  sums[1] = CALCANT_TOTAL(bright);
}

}  // namespace calcant::kernels
