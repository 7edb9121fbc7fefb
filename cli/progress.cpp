#include "cli/progress.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace calcant::cli {

Progress::Progress(std::ostream& err, bool terminal) : err_(&err), terminal_(terminal), begun_(Clock::now()) {}

Progress::~Progress() {
  if (!line_.empty()) *err_ << '\r' << std::string(line_.size(), ' ') << '\r' << std::flush;
}

void Progress::operator()(double share, std::string_view what) {
  if (!terminal_) return;
  const auto now = Clock::now();
  if (now - begun_ < std::chrono::seconds(1) || now - told_ < std::chrono::milliseconds(100)) return;
  told_ = now;
  std::string line = fmt::format("{} {:.0f} %", what, 100 * std::clamp(share, 0.0, 1.0));
  const std::size_t longer = line_.size() > line.size() ? line_.size() - line.size() : 0;
  *err_ << '\r' << line << std::string(longer, ' ') << std::flush;
  line_ = std::move(line);
}

}  // namespace calcant::cli
