// What can be done in any order, by several threads.
#pragma once

#include <algorithm>
#include <atomic>
#include <cstddef>
#include <thread>
#include <vector>

namespace calcant {

// Does task(0) to task(count - 1), each once, on at most so many threads; the calling one is among them. Tasks must not
// touch one another's results, nor throw.
template <class Task>
void in_parallel(std::size_t count, int threads, const Task& task) {
  std::atomic<std::size_t> taken{0};
  const auto take = [&] {
    for (std::size_t i = taken++; i < count; i = taken++) task(i);
  };
  const std::size_t hands = std::min(count, static_cast<std::size_t>(std::clamp(threads, 1, 16)));
  std::vector<std::jthread> helpers;
  for (std::size_t t = 1; t < hands; ++t) helpers.emplace_back(take);
  take();
}

}  // namespace calcant
