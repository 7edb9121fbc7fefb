#include "engine/measuring/statistics.hpp"

#include <algorithm>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>

namespace calcant::measuring {

double student_95(double degrees) {
  return boost::math::quantile(boost::math::students_t(std::max(1.0, degrees)), 0.975);
}

double median(std::vector<double> v) {
  if (v.empty()) return 0.0;
  const auto middle = v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2);
  std::nth_element(v.begin(), middle, v.end());
  if (v.size() % 2 == 1) return *middle;
  return (*middle + *std::max_element(v.begin(), middle)) / 2.0;
}

double robust_spread(std::span<const double> v) {
  const double m = median({v.begin(), v.end()});
  std::vector<double> away;
  away.reserve(v.size());
  for (const double x : v) away.push_back(std::fabs(x - m));
  return 1.4826 * median(std::move(away));
}

}  // namespace calcant::measuring
