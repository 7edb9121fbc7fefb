#include "files/organfile/fault.hpp"

#include <fmt/format.h>

namespace calcant {

std::string to_string(const Fault& f) {
  std::string out = f.file;
  if (f.line > 0) out += fmt::format(":{}", f.line);
  if (f.line > 0 && f.column > 0) out += fmt::format(":{}", f.column);
  out += ": " + f.message + "\n";
  if (f.line == 0) return out;
  out += "    " + f.text + "\n    ";
  // Tabs stay tabs, so that the caret stands under its place; the later bytes of a character take no column.
  for (int i = 0; i < f.caret && i < static_cast<int>(f.text.size()); ++i) {
    const char c = f.text[static_cast<std::size_t>(i)];
    if ((static_cast<unsigned char>(c) & 0xC0) == 0x80) continue;
    out += c == '\t' ? '\t' : ' ';
  }
  return out + "^\n";
}

std::string to_string(const std::vector<Fault>& faults) {
  std::string out;
  for (const Fault& f : faults) out += to_string(f);
  return out;
}

Error as_error(const std::vector<Fault>& faults) {
  if (faults.empty()) return {};
  if (faults.size() == 1 && faults[0].line == 0) return {faults[0].message, faults[0].file};
  std::string text = faults.size() == 1 ? "one fault:\n" : fmt::format("{} faults:\n", faults.size());
  text += to_string(faults);
  text.pop_back();
  const Fault& first = faults.front();
  return {std::move(text), fmt::format("{}:{}:{}", first.file, first.line, first.column)};
}

}  // namespace calcant
