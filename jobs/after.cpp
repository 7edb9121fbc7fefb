#include "jobs/after.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <nlohmann/json.hpp>

#include "engine/quantity/nearest.hpp"
#include "engine/quantity/typed.hpp"
#include "jobs/boards.hpp"
#include "jobs/faults.hpp"
#include "jobs/json.hpp"
#include "jobs/wishes.hpp"

namespace calcant {
namespace {

constexpr double step_phon = 1.5;
constexpr double most_phon = 6;
constexpr std::size_t longest_line = 300;

std::string_view without_points(std::string_view s) {
  const auto odd = [](char c) { return c == ' ' || c == '\t' || c == ',' || c == ';'; };
  while (!s.empty() && odd(s.front())) s.remove_prefix(1);
  while (!s.empty() && odd(s.back())) s.remove_suffix(1);
  return s;
}

struct Saying {
  std::string_view words;
  Verdict verdict;
};
constexpr std::array<Saying, 14> sayings{{{"too thin", Verdict::too_thin},
                                          {"too soft", Verdict::too_thin},
                                          {"too quiet", Verdict::too_thin},
                                          {"too weak", Verdict::too_thin},
                                          {"thin", Verdict::too_thin},
                                          {"too strong", Verdict::too_strong},
                                          {"too loud", Verdict::too_strong},
                                          {"too heavy", Verdict::too_strong},
                                          {"strong", Verdict::too_strong},
                                          {"right", Verdict::right},
                                          {"good", Verdict::right},
                                          {"well", Verdict::right},
                                          {"a fault", Verdict::fault},
                                          {"fault", Verdict::fault}}};

// "St Anne v3", "hymn 2, St Anne, verse 3": the verse at its end, and the item without it.
std::pair<std::string, int> item_and_verse(std::string_view text) {
  text = without_points(text);
  std::size_t digits = text.size();
  while (digits > 0 && std::isdigit(static_cast<unsigned char>(text[digits - 1])) != 0) --digits;
  int verse = 0;
  if (digits < text.size()) std::from_chars(text.data() + digits, text.data() + text.size(), verse);
  std::string_view rest = without_points(text.substr(0, digits));
  for (const std::string_view mark : {"verse", "v.", "v"}) {
    if (verse == 0 || rest.size() < mark.size()) continue;
    const std::string_view before = rest.substr(0, rest.size() - mark.size());
    const bool apart = before.empty() || before.back() == ' ' || before.back() == ',';
    if (lower(rest.substr(before.size())) == mark && apart && !without_points(before).empty())
      return {std::string{without_points(before)}, verse};
  }
  return {std::string{text}, 0};
}

}  // namespace

std::string_view word(Verdict v) {
  switch (v) {
    case Verdict::too_thin: return "too thin";
    case Verdict::too_strong: return "too strong";
    case Verdict::fault: return "a fault";
    case Verdict::right: break;
  }
  return "right";
}

Result<AfterService> parse_after(std::string_view line) {
  const auto wrong = [&](const char* what) {
    return fail(fmt::format("{} Write the item, a colon, and one of: too thin, right, too strong, a fault; "
                            "\"St Anne v3: too thin\".",
                            what),
                std::string{line.substr(0, 60)});
  };
  if (line.size() > longest_line) return wrong("This is more than one line.");
  const auto colon = line.find(':');
  if (colon == std::string_view::npos || without_points(line.substr(0, colon)).empty())
    return wrong("Which item is meant?");
  const std::string_view said = without_points(line.substr(colon + 1));
  const std::string low = lower(said);
  for (const Saying& s : sayings) {
    if (!low.starts_with(s.words)) continue;
    const bool whole =
        low.size() == s.words.size() || std::isalpha(static_cast<unsigned char>(low[s.words.size()])) == 0;
    if (!whole) continue;
    AfterService a;
    const auto [item, verse] = item_and_verse(line.substr(0, colon));
    a.item = verse > 0 ? fmt::format("{}, v{}", item, verse) : item;
    a.verdict = std::string{word(s.verdict)};
    a.words = std::string{without_points(said.substr(s.words.size()))};
    return a;
  }
  return wrong("How it was is not understood.");
}

Result<std::string> looked_up(const std::filesystem::path& folder, const AfterService& line) {
  const auto [item, verse] = item_and_verse(line.item);
  std::vector<std::string> known;
  bool there = false;
  int most = 0;  // verses, wherever it stands; 0: not said
  for (const std::string& service : boards(folder)) {
    const auto board = read_board(folder, service);
    if (!board) continue;  // told of on its own page
    for (const ServiceItem& i : board->content.items) {
      if (!i.title.empty()) known.push_back(i.title);
      if (!is_meant(item, i.number, i.title)) continue;
      there = true;
      most = std::max(most, i.verses);
    }
  }
  if (there && most > 0 && verse > most)
    return fail(fmt::format("{} has {} verses; verse {} is not sung", item, most, verse), "LINE");
  if (there || known.empty()) return std::string{};
  if (const std::string near = nearest(item, known); !near.empty())
    return fail(fmt::format("no board has \"{}\"; perhaps \"{}\"", item, near), "LINE");
  return fmt::format("No board of this organ has \"{}\": it is used when something of that name is planned.", item);
}

SaidBefore heard_of(const std::vector<AfterService>& lines, std::string_view number, std::string_view title) {
  SaidBefore h;
  const auto shifted = [](Phons& p, double by) { p = Phons{std::clamp(p.value() + by, -most_phon, most_phon)}; };
  for (const AfterService& a : lines) {
    const auto [item, verse] = item_and_verse(a.item);
    if (!is_meant(item, number, title)) continue;
    h.last = std::max(h.last, a.date);
    const double by = a.verdict == word(Verdict::too_thin)     ? step_phon
                      : a.verdict == word(Verdict::too_strong) ? -step_phon
                                                               : 0;
    const std::string where = verse > 0 ? fmt::format(" of verse {}", verse) : "";
    if (a.verdict == word(Verdict::fault)) {
      h.remarks.push_back(fmt::format("After {} you noted a fault{}: 'calcant fault' has plans allow for it.", a.date,
                                      verse > 0 ? fmt::format(" in verse {}", verse) : ""));
    } else {
      h.remarks.push_back(fmt::format("After {} you said '{}'{}.", a.date, a.verdict, where));
    }
    if (verse == 0) {
      shifted(h.all, by);
      continue;
    }
    auto it = std::find_if(h.verses.begin(), h.verses.end(), [v = verse](const auto& p) { return p.first == v; });
    if (it == h.verses.end()) it = h.verses.insert(h.verses.end(), {verse, Phons{0}});
    shifted(it->second, by);
  }
  return h;
}

void lay_on(const SaidBefore& heard, Hymn& hymn) {
  for (std::size_t v = 0; v < hymn.verses.size(); ++v) {
    Phons p = heard.all;
    for (const auto& [verse, by] : heard.verses) {
      if (verse == static_cast<int>(v) + 1) p = p + by;
    }
    hymn.verses[v].correction = Phons{std::clamp(p.value(), -most_phon, most_phon)};
  }
}

Result<std::vector<AfterService>> after_services(const OrganContext& context) {
  std::error_code ec;
  if (!std::filesystem::exists(context.folder / "organ.book", ec)) return std::vector<AfterService>{};
  auto book = open_book(context);
  if (!book) return tl::unexpected<Error>(book.error());
  return book->after_services();
}

std::string after_json(const OrganContext& context, const std::vector<AfterService>& lines) {
  Json j;
  j["organ"] = context.organ.id;
  j["said"] = Json::array();
  for (const AfterService& a : lines)
    j["said"].push_back({{"id", a.id}, {"date", a.date}, {"item", a.item}, {"verdict", a.verdict}, {"words", a.words}});
  return dump(j);
}

}  // namespace calcant
