#include "files/musicxml/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <pugixml.hpp>

#include "files/musicxml/archive.hpp"
#include "files/musicxml/limits.hpp"

namespace calcant::musicxml {
namespace {

void append(std::string& out, std::uint32_t c) {
  if (c < 0x80) {
    out += static_cast<char>(c);
  } else if (c < 0x800) {
    out += static_cast<char>(0xC0 | c >> 6);
    out += static_cast<char>(0x80 | (c & 0x3F));
  } else if (c < 0x10000) {
    out += static_cast<char>(0xE0 | c >> 12);
    out += static_cast<char>(0x80 | (c >> 6 & 0x3F));
    out += static_cast<char>(0x80 | (c & 0x3F));
  } else {
    out += static_cast<char>(0xF0 | c >> 18);
    out += static_cast<char>(0x80 | (c >> 12 & 0x3F));
    out += static_cast<char>(0x80 | (c >> 6 & 0x3F));
    out += static_cast<char>(0x80 | (c & 0x3F));
  }
}

constexpr std::uint32_t unknown_character = 0xFFFD;

std::string from_utf16(std::string_view bytes, bool big) {
  std::string out;
  out.reserve(bytes.size() / 2);
  const auto unit = [&](std::size_t i) {
    const auto a = static_cast<unsigned char>(bytes[i]);
    const auto b = static_cast<unsigned char>(bytes[i + 1]);
    return static_cast<std::uint32_t>(big ? a << 8 | b : b << 8 | a);
  };
  for (std::size_t i = 0; i + 1 < bytes.size(); i += 2) {
    std::uint32_t c = unit(i);
    if (c >= 0xD800 && c < 0xDC00 && i + 3 < bytes.size()) {
      const std::uint32_t low = unit(i + 2);
      if (low >= 0xDC00 && low < 0xE000) {
        c = 0x10000 + ((c - 0xD800) << 10) + (low - 0xDC00);
        i += 2;
      }
    }
    if (c >= 0xD800 && c < 0xE000) c = unknown_character;
    append(out, c);
  }
  return out;
}

// Windows-1252, of which Latin-1 as XML means it is a part.
std::string from_latin(std::string_view bytes) {
  static constexpr std::array<std::uint16_t, 32> upper{0x20AC, 0xFFFD, 0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021,
                                                       0x02C6, 0x2030, 0x0160, 0x2039, 0x0152, 0xFFFD, 0x017D, 0xFFFD,
                                                       0xFFFD, 0x2018, 0x2019, 0x201C, 0x201D, 0x2022, 0x2013, 0x2014,
                                                       0x02DC, 0x2122, 0x0161, 0x203A, 0x0153, 0xFFFD, 0x017E, 0x0178};
  std::string out;
  out.reserve(bytes.size() + bytes.size() / 8);
  for (const char ch : bytes) {
    const auto c = static_cast<unsigned char>(ch);
    append(out, c >= 0x80 && c < 0xA0 ? upper[c - 0x80U] : c);
  }
  return out;
}

bool is_utf8(std::string_view s) {
  for (std::size_t i = 0; i < s.size();) {
    const auto c = static_cast<unsigned char>(s[i]);
    const std::size_t more = c < 0x80                ? 0
                             : c >= 0xC2 && c < 0xE0 ? 1
                             : c >= 0xE0 && c < 0xF0 ? 2
                             : c >= 0xF0 && c < 0xF5 ? 3
                                                     : 9;
    if (more == 9 || s.size() - i <= more) return false;
    for (std::size_t k = 1; k <= more; ++k) {
      if ((static_cast<unsigned char>(s[i + k]) & 0xC0) != 0x80) return false;
    }
    i += more + 1;
  }
  return true;
}

// The encoding named by the XML declaration, in lower case.
std::string declared(std::string_view s) {
  if (s.substr(0, 5) != "<?xml") return {};
  const std::string_view head = s.substr(0, std::min(s.find("?>"), std::size_t{400}));
  const auto at = head.find("encoding");
  if (at == std::string_view::npos) return {};
  const auto open = head.find_first_of("\"'", at);
  if (open == std::string_view::npos) return {};
  const auto close = head.find(head[open], open + 1);
  if (close == std::string_view::npos) return {};
  std::string name(head.substr(open + 1, close - open - 1));
  for (char& c : name) c = static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c);
  return name;
}

Result<Text> plain_text(std::string_view bytes, std::string_view filename) {
  const std::string where(filename);
  if (bytes.size() > most_bytes) {
    return fail(fmt::format("the file has {} MB; no score needs more than {}", bytes.size() >> 20, most_bytes >> 20),
                where);
  }
  constexpr std::string_view mark =
      "\xEF\xBB\xBF";  // U+FEFF at the beginning is no text, however often it stands there
  while (bytes.substr(0, mark.size()) == mark) bytes.remove_prefix(mark.size());
  Text t;
  const auto first = [&](std::size_t i) { return i < bytes.size() ? static_cast<unsigned char>(bytes[i]) : 0x100; };
  if (first(0) == 0xFE && first(1) == 0xFF) t.utf8 = from_utf16(bytes.substr(2), true);
  else if (first(0) == 0xFF && first(1) == 0xFE) t.utf8 = from_utf16(bytes.substr(2), false);
  else if (first(0) == 0 && first(1) == '<') t.utf8 = from_utf16(bytes, true);
  else if (first(0) == '<' && first(1) == 0) t.utf8 = from_utf16(bytes, false);
  else {
    const std::string label = declared(bytes);
    const bool latin = label.rfind("iso-8859", 0) == 0 || label == "latin1" || label == "windows-1252";
    if (latin) {
      t.utf8 = from_latin(bytes);
    } else if (is_utf8(bytes)) {
      t.utf8 = std::string(bytes);
    } else {
      t.utf8 = from_latin(bytes);
      t.remarks.emplace_back("The file calls itself UTF-8 but is not; its accented letters were read as Latin-1.");
    }
  }
  while (t.utf8.rfind(mark, 0) == 0) t.utf8.erase(0, mark.size());
  if (t.utf8.find('\0') != std::string::npos) return fail("this is no MusicXML: it is not a text file", where);
  const auto begin = t.utf8.find_first_not_of(" \t\r\n");
  if (begin == std::string::npos || t.utf8[begin] != '<') {
    return fail("this is no well-formed XML: it does not begin with \"<\"", where + ":1");
  }
  return t;
}

// The first root file a packed score names; by the standard that is the music.
Result<std::string> root_file(std::string_view archive, const std::vector<Entry>& list,
                              std::vector<std::string>& remarks) {
  const auto container =
      std::find_if(list.begin(), list.end(), [](const Entry& e) { return e.name == "META-INF/container.xml"; });
  if (container != list.end()) {
    const auto text = unpacked(archive, *container);
    if (!text) return tl::unexpected(text.error());
    pugi::xml_document doc;
    if (doc.load_buffer(text->data(), text->size())) {
      for (const auto& file : doc.child("container").child("rootfiles").children("rootfile")) {
        const std::string name = file.attribute("full-path").value();
        if (!name.empty()) return name;
      }
    }
    return fail("the packed score's META-INF/container.xml names no music");
  }
  const auto ends = [](const std::string& name, std::string_view end) {
    return name.size() > end.size() && name.compare(name.size() - end.size(), end.size(), end) == 0;
  };
  for (const Entry& e : list) {
    if (e.name.rfind("META-INF/", 0) == 0) continue;
    if (!ends(e.name, ".xml") && !ends(e.name, ".musicxml")) continue;
    remarks.push_back(
        fmt::format("The packed score does not say which of its files is the music; \"{}\" was taken.", e.name));
    return e.name;
  }
  return fail("the packed score holds no music (.musicxml or .xml)");
}

}  // namespace

Result<Text> text_of(std::string_view bytes, std::string_view filename) {
  if (!is_archive(bytes)) return plain_text(bytes, filename);
  const auto placed = [&](Error e) {
    e.where = std::string(filename);
    return tl::unexpected(std::move(e));
  };
  const auto list = entries(bytes);
  if (!list) return placed(list.error());
  std::vector<std::string> remarks;
  const auto name = root_file(bytes, *list, remarks);
  if (!name) return placed(name.error());
  const auto entry = std::find_if(list->begin(), list->end(), [&](const Entry& e) { return e.name == *name; });
  if (entry == list->end()) {
    return placed({fmt::format("the packed score names \"{}\" as its music, but does not hold it", *name), {}});
  }
  const auto content = unpacked(bytes, *entry);
  if (!content) return placed(content.error());
  auto text = plain_text(*content, filename);
  if (text) text->remarks.insert(text->remarks.begin(), remarks.begin(), remarks.end());
  return text;
}

}  // namespace calcant::musicxml
