// How far long work is, on one line of a terminal's standard error.
#pragma once

#include <chrono>
#include <ostream>
#include <string>
#include <string_view>

namespace calcant::cli {

// Says nothing during the first second, and wipes its line when it is destroyed. Where the stream is no terminal it
// says nothing at all.
class Progress {
 public:
  Progress(std::ostream& err, bool terminal);
  ~Progress();
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;

  void operator()(double share, std::string_view what);

 private:
  using Clock = std::chrono::steady_clock;
  std::ostream* err_;
  bool terminal_;
  Clock::time_point begun_;
  Clock::time_point told_;
  std::string line_;
};

}  // namespace calcant::cli
