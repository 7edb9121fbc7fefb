// The arithmetic the ear model spends its time in, apart so that it can be compiled for speed. Bare numbers
// inside the part; nothing outside engine/hearing includes this.
//
// Every argument must be finite. Each loop is plain arithmetic in a fixed order, with its own exponential and
// logarithm, so results are the same bits on every processor and with every compiler that keeps IEEE 754.
#pragma once

#include <cstddef>

namespace calcant::kernels {

// A rounded exponential filter passes W(u) = (1 + u) e^-u of a line's power; beyond u = 40 that is under
// 2e-16.
inline constexpr double u_end = 40.0;

// Sum over k of power[k] W(p |f[k] - centre| / centre): the power in the auditory filter around `centre`.
[[nodiscard]] double level_sum(const double* f, const double* power, std::size_t n, double centre, double p);

// out[i] += power W(slope[i] f - p[i]): filters below the line, whose upper sides pass it. slope = p / centre
// frequency.
void add_upper_side(const double* slope, const double* p, std::size_t n, double f, double power, double* out);

// out[i] += power W(max(p[i] skirt, 0.1) (1 - f inverse_centre[i])): filters above the line; skirt says how
// much wider than p their lower sides are at this line's level.
void add_lower_side(const double* p, const double* inverse_centre, std::size_t n, double f, double skirt,
                    double power, double* out);

}  // namespace calcant::kernels
