// Any text is read as a feet file, or refused with a sentence and its place.
#include <cstddef>
#include <cstdint>
#include <cstdlib>

#include "files/feetfile/feetfile.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace calcant;
  const auto read = read_feet_file({reinterpret_cast<const char*>(data), size}, "feet.toml");
  if (!read) {
    if (read.error().message.empty() || read.error().where.empty()) std::abort();
    return 0;
  }
  if (read->size() > most_feet_marks) std::abort();
  for (const FeetFileMark& m : *read) {
    if (m.where.empty()) std::abort();
  }
  return 0;
}
