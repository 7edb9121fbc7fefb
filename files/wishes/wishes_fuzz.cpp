// Any bytes are read as a file of wishes or refused with a sentence.
#include <cstddef>
#include <cstdint>
#include <cstdlib>

#include "files/wishes/wishes.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto read = calcant::read_wishes({reinterpret_cast<const char*>(data), size}, "wishes.toml");
  if (!read && read.error().message.empty()) std::abort();
  return 0;
}
