// How long work is done: on how many threads, when to stop, and where to tell how far it is.
#pragma once

#include <functional>
#include <stop_token>
#include <string_view>

namespace calcant {

// Results never depend on `threads`: work is cut into chunks of fixed size and merged in order, and random numbers are
// keyed by (seed, what they are for). A function that takes a Work and is stopped returns an error that says so.
struct Work {
  int threads = 1;
  std::stop_token stop{};
  // share: 0 to 1; what: a few words for people ("weighing registrations"). Called from the calling thread only.
  std::function<void(double share, std::string_view what)> progress{};

  void tell(double share, std::string_view what) const {
    if (progress) progress(share, what);
  }
};

}  // namespace calcant
