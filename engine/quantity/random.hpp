// Random numbers that are the same on every machine and any number of threads.
#pragma once

#include <cmath>
#include <cstdint>
#include <numbers>

namespace calcant {

// SplitMix64 (Steele, Lea & Flood, OOPSLA 2014), started from a seed and a key ("which pipe", "which draw"), so that a
// stream belongs to a thing and not to the order in which things are visited.
class Random {
 public:
  explicit Random(std::uint64_t seed, std::uint64_t key = 0) : state_(seed) {
    state_ = bits() ^ (key * 0x9E3779B97F4A7C15ULL);
    bits();
  }
  std::uint64_t bits() {
    std::uint64_t z = (state_ += 0x9E3779B97F4A7C15ULL);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31);
  }
  double uniform() { return static_cast<double>(bits() >> 11) * 0x1.0p-53; }  // [0, 1)
  double uniform(double low, double high) { return low + (high - low) * uniform(); }
  int below(int n) { return static_cast<int>(uniform() * n); }  // 0 .. n-1
  // Normal, mean 0, standard deviation 1 (Box and Muller).
  double normal() {
    const double r = std::sqrt(-2.0 * std::log(1.0 - uniform()));
    return r * std::cos(2.0 * std::numbers::pi * uniform());
  }

 private:
  std::uint64_t state_;
};

}  // namespace calcant
