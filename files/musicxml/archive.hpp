// A packed score (.mxl): a zip archive, read in memory only.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/result.hpp"

namespace calcant::musicxml {

// What a zip archive's directory says of one entry. Nothing here is trusted until it is unpacked.
struct Entry {
  std::string name;
  std::size_t packed = 0;
  std::size_t unpacked = 0;
  std::size_t header = 0;  // offset of its local header
  int method = 0;          // 0 stored, 8 deflated
  bool locked = false;
};

[[nodiscard]] bool is_archive(std::string_view bytes);
[[nodiscard]] Result<std::vector<Entry>> entries(std::string_view archive);
// The entry's content; at most musicxml::most_bytes, and no more than most_ratio times its packed size.
[[nodiscard]] Result<std::string> unpacked(std::string_view archive, const Entry& entry);

}  // namespace calcant::musicxml
