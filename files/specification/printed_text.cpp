#include "files/specification/printed_text.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <utility>

#include "engine/quantity/typed.hpp"

namespace calcant::printed {

bool digit(char c) { return c >= '0' && c <= '9'; }

bool is_one_of(std::string_view word, std::initializer_list<std::string_view> list) {
  return std::find(list.begin(), list.end(), word) != list.end();
}

std::optional<int> whole(std::string_view s) {
  int v = 0;
  const auto [end, ec] = std::from_chars(s.data(), s.data() + s.size(), v);
  if (ec != std::errc{} || end != s.data() + s.size() || s.empty() || v < 0) return std::nullopt;
  return v;
}

std::optional<int> roman(std::string_view s) {
  static constexpr std::array<std::string_view, 8> numerals{"I", "II", "III", "IV", "V", "VI", "VII", "VIII"};
  for (std::size_t i = 0; i < numerals.size(); ++i) {
    if (s == numerals[i]) return static_cast<int>(i) + 1;
  }
  return std::nullopt;
}

std::vector<std::string> words(std::string_view text) {
  std::vector<std::string> out;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t from = std::min(text.find_first_not_of(' ', at), text.size());
    const std::size_t end = std::min(text.find(' ', from), text.size());
    if (end > from) out.emplace_back(text.substr(from, end - from));
    at = end;
  }
  return out;
}

std::string cleaned(std::string_view line) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 28> spelling{{
      {"½", " 1/2"},
      {"⅓", " 1/3"},
      {"⅔", " 2/3"},
      {"¼", " 1/4"},
      {"¾", " 3/4"},
      {"⅕", " 1/5"},
      {"⅖", " 2/5"},
      {"⅗", " 3/5"},
      {"⅘", " 4/5"},
      {"⅐", " 1/7"},
      {"⁄", "/"},
      {"’", "'"},
      {"‘", "'"},
      {"′", "'"},
      {"´", "'"},
      {"“", "\""},
      {"”", "\""},
      {"–", "-"},
      {"—", "-"},
      {"−", "-"},
      {"…", "..."},
      {"\xC2\xA0", " "},
      {"\xE2\x80\x89", " "},
      {"\xE2\x80\x83", "  "},
      {"\xEF\xBB\xBF", ""},
      {"″", "'"},
      {"\t", "    "},
      {"`", "'"},
  }};
  std::string s;
  for (std::size_t i = 0; i < line.size();) {
    std::size_t took = 0;
    for (const auto& [from, to] : spelling) {
      if (line.compare(i, from.size(), from) == 0) {
        s += to;
        took = from.size();
        break;
      }
    }
    if (took == 0) {
      // Other letters stay whole; bytes that are no text become a question mark.
      const auto c = static_cast<unsigned char>(line[i]);
      const std::size_t n = c < 0x80                 ? 1
                            : c >= 0xC2 && c < 0xE0  ? 2
                            : c >= 0xE1 && c < 0xED  ? 3
                            : c == 0xEE || c == 0xEF ? 3
                                                     : 0;
      bool sound = n > 0 && i + n <= line.size() && c >= 0x20 && c != 0x7F;
      for (std::size_t k = 1; sound && k < n; ++k) sound = (static_cast<unsigned char>(line[i + k]) & 0xC0) == 0x80;
      if (sound) s += line.substr(i, n);
      else s += c < 0x20 ? ' ' : '?';
      took = sound ? n : 1;
    }
    i += took;
  }
  // Dotted leaders, with or without spaces between the dots.
  std::string out;
  for (std::size_t i = 0; i < s.size();) {
    std::size_t end = i, dots = 0;
    while (end < s.size() &&
           (s[end] == '.' || s[end] == '_' ||
            (dots > 0 && s[end] == ' ' && end + 1 < s.size() && (s[end + 1] == '.' || s[end + 1] == '_')))) {
      dots += s[end] == ' ' ? 0 : 1;
      ++end;
    }
    if (dots >= 2) {
      out += "    ";
      i = end;
    } else {
      out += s[i++];
    }
  }
  while (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

std::vector<Cell> cells(std::string_view line) {
  std::vector<Cell> out;
  for (std::size_t at = 0; at < line.size();) {
    const std::size_t from = std::min(line.find_first_not_of(' ', at), line.size());
    const std::size_t end = std::min(line.find("   ", from), line.size());
    if (end > from) out.push_back({std::string{line.substr(from, end - from)}, static_cast<int>(from)});
    at = end;
  }
  // A cell that only measures belongs to the name before it; a number in front to the name behind it.
  const auto measures = [](const std::string& text) {
    if (text.front() == '(' || text.front() == '[') return true;
    for (const std::string& w : words(text)) {
      const bool number = digit(w.front());
      if (!number && !roman(w) &&
          !is_one_of(lower(w), {"ft", "ft.", "feet", "rks", "rks.", "ranks", "pipes", "notes", "metal", "wood", "tin",
                                "&", "and", "'", "tc", "t.c."})) {
        return false;
      }
    }
    return true;
  };
  std::vector<Cell> merged;
  for (Cell& c : out) {
    if (!merged.empty() && (measures(c.text) || (merged.size() == 1 && measures(merged.back().text)))) {
      merged.back().text += " " + c.text;
    } else {
      merged.push_back(std::move(c));
    }
  }
  return merged;
}

}  // namespace calcant::printed
