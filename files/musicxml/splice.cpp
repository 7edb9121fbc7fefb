#include "files/musicxml/splice.hpp"

#include <algorithm>

namespace calcant::musicxml {
namespace {

constexpr std::string_view blanks = " \t\r\n";

}  // namespace

std::string applied(const std::string& text, std::vector<Edit> edits) {
  std::stable_sort(edits.begin(), edits.end(), [](const Edit& a, const Edit& b) { return a.at < b.at; });
  std::string out;
  std::size_t done = 0;
  for (const Edit& e : edits) {
    if (e.at < done) continue;  // within something already cut
    out.append(text, done, e.at - done);
    out += e.text;
    done = e.at + e.cut;
  }
  out.append(text, done, std::string::npos);
  return out;
}

std::size_t offset(pugi::xml_node node) { return static_cast<std::size_t>(node.offset_debug()); }
std::size_t tag_start(pugi::xml_node element) { return offset(element) - 1; }

std::size_t start_tag_end(std::string_view text, std::size_t from) {
  char quote = '\0';
  for (std::size_t i = from; i < text.size(); ++i) {
    const char c = text[i];
    if (quote != '\0') quote = c == quote ? '\0' : quote;
    else if (c == '"' || c == '\'') quote = c;
    else if (c == '>') return i + 1;
  }
  return text.size();
}

std::size_t end_tag(std::string_view text, std::size_t from, std::string_view name) {
  const auto behind = [&](std::size_t at, std::string_view closing) {
    const auto close = text.find(closing, at);
    return close == std::string_view::npos ? text.size() : close + closing.size();
  };
  from = start_tag_end(text, from);
  while (from < text.size()) {
    const auto open = text.find('<', from);
    if (open == std::string_view::npos) break;
    const std::string_view rest = text.substr(open + 1);
    if (rest.substr(0, 3) == "!--") {
      from = behind(open + 4, "-->");
    } else if (rest.substr(0, 8) == "![CDATA[") {
      from = behind(open + 9, "]]>");
    } else if (rest.substr(0, 1) == "?") {
      from = behind(open + 2, "?>");
    } else if (rest.substr(0, 1) == "/") {
      // "</note>", not "</notehead>".
      const std::string_view closed = rest.substr(1, rest.find_first_of(" \t\r\n>") - 1);
      if (closed == name) return open;
      from = behind(open, ">");
    } else {
      from = start_tag_end(text, open + 1);
    }
  }
  return std::string_view::npos;
}

std::optional<AttributePlace> attribute_place(std::string_view text, std::size_t from, std::string_view name) {
  std::size_t i = text.find_first_of(" \t\r\n/>", from);
  while (i < text.size()) {
    i = text.find_first_not_of(blanks, i);
    if (i == std::string_view::npos || text[i] == '>' || text[i] == '/') return std::nullopt;
    const auto equals = text.find('=', i);
    if (equals == std::string_view::npos) return std::nullopt;
    std::string_view found = text.substr(i, equals - i);
    while (!found.empty() && blanks.find(found.back()) != std::string_view::npos) found.remove_suffix(1);
    const auto open = text.find_first_of("\"'", equals);
    if (open == std::string_view::npos) return std::nullopt;
    const auto close = text.find(text[open], open + 1);
    if (close == std::string_view::npos) return std::nullopt;
    if (found == name) return AttributePlace{i, open + 1, close - open - 1};
    i = close + 1;
  }
  return std::nullopt;
}

}  // namespace calcant::musicxml
