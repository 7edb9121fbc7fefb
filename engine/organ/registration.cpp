#include "engine/organ/registration.hpp"

namespace calcant {

int knobs_moved(const Registration& from, const Registration& to) {
  return static_cast<int>((from.stops ^ to.stops).count() + (from.couplers ^ to.couplers).count() +
                          (from.accessories ^ to.accessories).count());
}

}  // namespace calcant

std::size_t std::hash<calcant::Registration>::operator()(const calcant::Registration& r) const noexcept {
  std::size_t h = 0;
  const auto mix = [&h](std::size_t v) { h = (h ^ v) * 0x9E3779B97F4A7C15ULL + (h >> 29); };
  mix(std::hash<std::bitset<calcant::max_stops>>{}(r.stops));
  mix(std::hash<std::bitset<calcant::max_couplers>>{}(r.couplers));
  mix(std::hash<std::bitset<calcant::max_accessories>>{}(r.accessories));
  for (const float opening : r.box) mix(std::hash<float>{}(opening));
  return h;
}
