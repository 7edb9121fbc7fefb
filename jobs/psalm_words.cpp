#include "jobs/psalm_words.hpp"

#include <fmt/format.h>

#include <cctype>
#include <charconv>
#include <optional>
#include <string>
#include <utility>

#include "engine/quantity/typed.hpp"
#include "jobs/hymn_words.hpp"

namespace calcant {
namespace {

constexpr std::size_t longest = 400;

// "Psalm 119b Walmisley": number 119b, title Walmisley.
Result<void> head(std::string_view text, ServiceItem& i) {
  for (const std::string_view word : {"psalm", "ps."}) {
    if (lower(text.substr(0, word.size())) == word) text = trimmed(text.substr(word.size()));
  }
  if (!text.empty() && std::isdigit(static_cast<unsigned char>(text.front())) != 0) {
    const auto blank = text.find(' ');
    i.number = std::string{text.substr(0, blank)};
    text = blank == std::string_view::npos ? std::string_view{} : trimmed(text.substr(blank));
  }
  i.title = std::string{text};
  if (i.number.empty() && i.title.empty())
    return fail("A psalm begins with its number: \"23, single chant, F, 6 verses\".", "--psalm");
  return {};
}

// "6 verses", "6".
std::optional<int> verses(const std::string& field) {
  int n = 0;
  const char* end = field.data() + field.size();
  const auto [stop, fault] = std::from_chars(field.data(), end, n);
  if (fault != std::errc{}) return std::nullopt;
  const std::string_view unit = trimmed({stop, static_cast<std::size_t>(end - stop)});
  if (!unit.empty() && unit != "verses" && unit != "verse" && unit != "v" && unit != "vv") return std::nullopt;
  return n;
}

}  // namespace

Result<ServiceItem> parse_psalm(std::string_view text) {
  ServiceItem i;
  i.kind = ServiceItem::Kind::psalm;
  if (text.size() > longest) return fail("This is too long for a psalm: number, chant, key, verses.", "--psalm");
  bool first = true;
  bool counted = false;
  while (true) {
    const auto comma = text.find(',');
    const std::string_view typed = trimmed(text.substr(0, comma));
    const std::string field = lower(typed);
    Hymn key;
    if (std::exchange(first, false)) {
      if (auto ok = head(typed, i); !ok) return tl::unexpected<Error>(ok.error());
    } else if (field.empty()) {
    } else if (field == "single" || field == "single chant") {
      i.double_chant = false;
    } else if (field == "double" || field == "double chant") {
      i.double_chant = true;
    } else if (field == "gloria") {
      i.gloria = true;
    } else if (field == "no gloria" || field == "without gloria") {
      i.gloria = false;
    } else if (const auto n = verses(field)) {
      i.verses = *n;
      counted = true;
    } else if (set_key(key, field)) {
      i.key = std::string{typed};
    } else {
      return fail(fmt::format("'{}' is neither single chant or double chant, nor a key (F, E flat), nor verses (6 "
                              "verses), nor Gloria or no Gloria.",
                              typed.substr(0, 60)),
                  "--psalm");
    }
    if (comma == std::string_view::npos) break;
    text.remove_prefix(comma + 1);
  }
  if (!counted) return fail("How many verses are sung? \"23, single chant, F, 6 verses\".", "--psalm");
  if (i.verses < 1 || i.verses > most_verses)
    return fail(fmt::format("A psalm has 1 to {} verses.", most_verses), "--psalm");
  return i;
}

}  // namespace calcant
