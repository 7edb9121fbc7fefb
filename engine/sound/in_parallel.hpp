// What can be done in any order, by several threads.
#pragma once

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
  std::vector<std::jthread> helpers;
  for (std::size_t t = 1; t < count && t < static_cast<std::size_t>(threads < 1    ? 1
                                                                    : threads > 16 ? 16
                                                                                   : threads);
       ++t) {
    helpers.emplace_back(take);
  }
  take();
}

}  // namespace calcant
