// The arithmetic the ear model spends its time in, apart so that it can be compiled for speed. Bare numbers
// inside the part; others see it only as what a Pattern holds.
//
// Every argument must be finite. Each loop is plain arithmetic in a fixed order, with its own exponential and logarithm,
// so that it gives the same bits on every processor that keeps IEEE 754 (what it is fed may differ in the last place
// where the C library's functions do).
#pragma once

#include <cstddef>

namespace calcant::kernels {

// A rounded exponential filter passes W(u) = (1 + u) e^-u of a line's power; beyond u = 40 that is under
// 2e-16.
inline constexpr double u_end = 40.0;

// Sum over k of power[k] W(p |f[k] - centre| / centre): the power in the auditory filter around `centre`, to 1e-5 (a level,
// to 0.00005 dB). Seven more floats must be there to be read after f[n - 1] and power[n - 1]; they count nothing.
[[nodiscard]] float level_sum(const float* f, const float* power, std::size_t n, float centre, float p);
inline constexpr std::size_t level_sum_reads_on = 7;

// out[i] += power W(slope[i] f - p[i]): filters below the line, whose upper sides pass it. slope = p / centre
// frequency.
void add_upper_side(const double* slope, const double* p, std::size_t n, double f, double power, double* out);

// out[i] += power W(max(p[i] skirt, 0.1) (1 - f inverse_centre[i])): filters above the line; skirt says how
// much wider than p their lower sides are at this line's level.
void add_lower_side(const double* p, const double* inverse_centre, std::size_t n, double f, double skirt, double power,
                    double* out);

// The same two in single precision, to 1e-5 of what a line excites: for the quarter-Cam grid.
void add_upper_side(const float* slope, const float* p, std::size_t n, float f, float power, float* out);
void add_lower_side(const float* p, const float* inverse_centre, std::size_t n, float f, float skirt, float power,
                    float* out);

// out[i] += share in[i].
void add_share(const double* in, double share, std::size_t n, double* out);

// out[i] += in[i].
void add(const float* in, std::size_t n, float* out);
// x[i] = log2(x[i] + 1e-30), to 1e-6, for x[i] >= 0.
void to_logs(float* x, std::size_t n);

// The screen: 149 filters of 0.25 Cam, filled up with three that hear nothing to whole registers.
inline constexpr std::size_t screen_width = 152;
struct alignas(64) ScreenTables {
  float threshold[screen_width];
  float gain[screen_width];
  float a[screen_width];
  float alpha[screen_width];
  float rest[screen_width];
  float bright[screen_width];
};
// What groups of pipes excite: each `alone`, and `among` everything that could sound; power and power_log say
// how much of it they are.
struct alignas(64) Excited {
  float alone[screen_width];
  float among[screen_width];
  float power;      // of their lines
  float power_log;  // sum over groups of power log2 power
};
// Of a and b together, `everything` being log2 of the power of all there is: sums[0] of specific loudness
// before its factor, sums[1] of that times `bright`.
void screen_sums(const ScreenTables& tables, float everything, const Excited& a, const Excited& b, float* sums);
// log2 x for normal x > 0, to 1e-6.
[[nodiscard]] float log2_of(float x);

}  // namespace calcant::kernels
