// The most memory this process has held, for benchmarks.
#pragma once

#include <fstream>
#include <string>

namespace calcant {

// What was held before no longer counts (Linux: /proc/self/clear_refs).
inline void forget_peak_memory() { std::ofstream{"/proc/self/clear_refs"} << 5; }
// The peak resident set since, in 10^6 bytes; 0 where the system does not tell.
inline double peak_megabytes() {
  std::ifstream status{"/proc/self/status"};
  for (std::string word; status >> word;) {
    double kilobytes = 0;
    if (word == "VmHWM:" && status >> kilobytes) return kilobytes * 1024 / 1e6;
  }
  return 0;
}

}  // namespace calcant
