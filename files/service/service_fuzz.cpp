// Any bytes are read as a hymn board, as typed or ready to be planned, or refused with a sentence; what was read is
// written and read again as the same board.
#include <cstddef>
#include <cstdint>
#include <cstdlib>

#include "files/service/service.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace calcant;
  const std::string_view text{reinterpret_cast<const char*>(data), size};
  for (const Completeness completeness : {Completeness::required, Completeness::as_typed}) {
    const auto board = read_service(text, "sunday.toml", completeness);
    if (!board) {
      if (board.error().message.empty() || board.error().where.empty()) std::abort();
      continue;
    }
    const std::string written = write_service(*board);
    const auto again = read_service(written, "again.toml", completeness);
    if (!again || write_service(*again) != written) std::abort();
  }
  return 0;
}
