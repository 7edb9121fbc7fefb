// From the bytes of a file to XML text in UTF-8.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/result.hpp"

namespace calcant::musicxml {

struct Text {
  std::string utf8;                  // without byte order mark
  std::vector<std::string> remarks;  // what had to be put right
};

// Plain XML in UTF-8, UTF-16 or Latin-1 (also labelled UTF-8 by mistake), or a packed .mxl, of which the first root file
// is taken. `filename` is for messages.
[[nodiscard]] Result<Text> text_of(std::string_view bytes, std::string_view filename);

}  // namespace calcant::musicxml
