// What is typed for a hymn, its verses' words and a psalm: any text is understood or refused with a sentence.
#include <cstddef>
#include <cstdint>
#include <cstdlib>

#include "jobs/hymn_words.hpp"
#include "jobs/psalm_words.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace calcant;
  const std::string_view text{reinterpret_cast<const char*>(data), size};
  const std::size_t line = text.find('\n');
  auto hymn = parse_hymn(text.substr(0, line));
  if (!hymn) {
    if (hymn.error().message.empty()) std::abort();
  } else if (line != std::string_view::npos) {
    if (const auto words = set_words(*hymn, std::string{text.substr(line + 1)});
        !words && words.error().message.empty())
      std::abort();
  }
  const auto psalm = parse_psalm(text.substr(0, line));
  if (!psalm && psalm.error().message.empty()) std::abort();
  return 0;
}
