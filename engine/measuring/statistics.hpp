// Small statistics shared inside the part.
#pragma once

#include <span>
#include <vector>

namespace calcant::measuring {

// Two-sided 95 % point of Student's t; degrees >= 1, need not be whole.
[[nodiscard]] double student_95(double degrees);
[[nodiscard]] double median(std::vector<double> v);  // 0 when empty
// 1.4826 times the median distance from the median: the standard deviation, were they normal.
[[nodiscard]] double robust_spread(std::span<const double> v);

}  // namespace calcant::measuring
