#include "cli/shared.hpp"

#include <fmt/format.h>

#include <chrono>
#include <utility>

#include "jobs/spec.hpp"

namespace calcant::cli {

Argument organ_argument() { return {"ORGAN", "an organ folder, or its organ.toml"}; }

std::vector<Option> day_options(const char* day) {
  return {{day, "DATE", "the organ of that day (2026-11-29), as the fault book has it", ""},
          {"--temperature", "CELSIUS", "at the pipes; otherwise as the organ file has it", ""}};
}

std::vector<Option> place_options() {
  return {{"--at", "PLACE", "where it is heard", "nave", {"nave", "bench"}},
          {"--people", "HOW MANY", "how full the church is", "empty", {"empty", "half", "full"}}};
}

std::vector<Option> joined(std::vector<std::vector<Option>> lists) {
  std::vector<Option> all;
  for (auto& list : lists) {
    for (auto& o : list) all.push_back(std::move(o));
  }
  return all;
}

namespace {

Asked place_asked(const Given& given) {
  Asked asked;
  if (given.text("--at") == "bench") asked.place = PlaceKind::bench;
  if (given.text("--people") == "half") asked.people = People::half;
  if (given.text("--people") == "full") asked.people = People::full;
  return asked;
}

}  // namespace

Result<OrganContext> open_organ(const Given& given, const char* day) {
  Asked asked = place_asked(given);
  asked.as_found = given.has("--as-found");
  if (given.has(day)) {
    const auto date = parse_date(*given.text(day));
    if (!date) return fail(date.error().message, day);
    asked.on = *date;
  }
  const auto celsius = given.number("--temperature", -20, 50, "C");
  if (!celsius) return tl::unexpected<Error>(celsius.error());
  if (*celsius) asked.temperature = Celsius{**celsius};
  return calcant::open_organ(given.text_or("ORGAN", "."), asked);
}

// The only clock of the book's entries: the day they are written, unless --on says another.
std::string today() {
  const auto now = std::chrono::floor<std::chrono::days>(std::chrono::system_clock::now());
  const std::chrono::year_month_day d{now};
  return fmt::format("{:04}-{:02}-{:02}", static_cast<int>(d.year()), static_cast<unsigned>(d.month()),
                     static_cast<unsigned>(d.day()));
}

std::string capitalised(std::string text) {
  if (!text.empty()) text[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(text[0])));
  return text;
}

std::string invented_line(const Organ& organ) {
  const std::string words = invented_words(organ);
  return words.empty() ? words : words + ".\n";
}

}  // namespace calcant::cli
