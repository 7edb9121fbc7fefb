// A text as a TOML basic string, for our own writers.
#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <string_view>

namespace calcant::toml_library {

// With its quotes; cut to `longest` bytes, never within a letter.
inline std::string quoted(std::string_view text, std::size_t longest) {
  std::size_t end = std::min(text.size(), longest);
  while (end < text.size() && end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) --end;
  std::string out = "\"";
  for (const char c : text.substr(0, end)) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') out += fmt::format("\\{}", c);
    else if (byte < 0x20 || byte == 0x7F) out += fmt::format("\\u{:04X}", byte);
    else out += c;
  }
  return out + '"';
}

}  // namespace calcant::toml_library
