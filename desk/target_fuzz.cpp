// Any bytes as the target of a request: parts that cannot lead out of a folder, or a refusal in a sentence. The same target
// again gives the same.
#include <cstddef>
#include <cstdint>
#include <cstdlib>

#include "desk/guard.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace calcant::desk;
  const std::string_view text{reinterpret_cast<const char*>(data), size};
  const auto target = parse_target(text);
  if (!target) {
    if (target.error().message.empty()) std::abort();
    return 0;
  }
  for (const std::string& part : target->parts) {
    if (part.empty() || part == "." || part == ".." || part.find('/') != std::string::npos) std::abort();
    if (part.find('\0') != std::string::npos || part.find('\\') != std::string::npos) std::abort();
  }
  const auto again = parse_target(text);
  if (!again || again->parts != target->parts || again->query != target->query) std::abort();
  return 0;
}
