#include "files/lines/lines.hpp"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <optional>
#include <string>

namespace calcant {
namespace {

std::string_view trimmed(std::string_view s) {
  while (!s.empty() && (s.front() == ' ' || s.front() == '\t' || s.front() == '"')) s.remove_prefix(1);
  while (!s.empty() && (s.back() == ' ' || s.back() == '\t' || s.back() == '\r' || s.back() == '"')) s.remove_suffix(1);
  return s;
}

std::optional<double> number(std::string_view s) {
  s = trimmed(s);
  if (s.starts_with('+')) s.remove_prefix(1);
  double value = 0;
  const auto [end, fault] = std::from_chars(s.data(), s.data() + s.size(), value);
  if (s.empty() || fault != std::errc{} || end != s.data() + s.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

// A row cut out of a message: no longer than people read.
std::string shown(std::string_view row) {
  std::string s{row.substr(0, 40)};
  for (char& c : s) {
    if (static_cast<unsigned char>(c) < 32 || static_cast<unsigned char>(c) > 126) c = '?';
  }
  return s;
}

}  // namespace

Result<Lines> read_lines(std::string_view text, std::string_view name) {
  if (text.size() > lines_file_limit) return fail("The table of lines is larger than 4 MB.", std::string{name});
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  Lines lines;
  int row_number = 0;
  bool header_possible = true;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    const std::string_view row = trimmed(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
    ++row_number;
    if (row.empty() || row.front() == '#') continue;
    const auto wrong = [&](const std::string& what) { return fail(what, fmt::format("{}:{}", name, row_number)); };
    const std::size_t cut = row.find_first_of(",;\t");
    const auto hz = number(row.substr(0, cut));
    if (!hz && header_possible) {
      header_possible = false;
      continue;
    }
    header_possible = false;
    if (cut == std::string_view::npos) {
      return wrong(fmt::format("A row is hertz, dB (1000, 60); '{}' has no second figure.", shown(row)));
    }
    const auto db = number(row.substr(cut + 1));
    if (!hz || !db) return wrong(fmt::format("A row is two numbers, hertz and dB (1000, 60), not '{}'.", shown(row)));
    if (*hz <= 0 || *hz >= 100000) {
      return wrong(fmt::format("A frequency is above 0 and below 100000 Hz, not {}.", shown(row.substr(0, cut))));
    }
    if (*db < -200 || *db > 200) {
      return wrong(fmt::format("A level is from -200 to 200 dB, not {}.", shown(trimmed(row.substr(cut + 1)))));
    }
    if (lines.size() == lines_limit) return wrong(fmt::format("There are more than {} lines.", lines_limit));
    lines.push_back({Hertz{*hz}, Decibels{*db}});
  }
  return lines;
}

}  // namespace calcant
