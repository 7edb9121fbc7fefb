#include "files/pages/day_words.hpp"

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <chrono>
#include <optional>

namespace calcant {
namespace {

constexpr std::array days{"Sunday", "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday"};
constexpr std::array months{"January", "February", "March",     "April",   "May",      "June",
                            "July",    "August",   "September", "October", "November", "December"};

std::optional<unsigned> digits(std::string_view text) {
  unsigned value = 0;
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (problem != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return value;
}

}  // namespace

std::string day_in_words(std::string_view date) {
  const std::string as_given{date};
  if (date.size() != 10 || date[4] != '-' || date[7] != '-') return as_given;
  const auto year = digits(date.substr(0, 4));
  const auto month = digits(date.substr(5, 2));
  const auto day = digits(date.substr(8, 2));
  if (!year || !month || !day) return as_given;
  const std::chrono::year_month_day ymd{std::chrono::year{static_cast<int>(*year)}, std::chrono::month{*month},
                                        std::chrono::day{*day}};
  if (!ymd.ok()) return as_given;
  const std::chrono::weekday weekday{std::chrono::sys_days{ymd}};
  return fmt::format("{} {} {} {}", days[weekday.c_encoding()], *day, months[*month - 1], *year);
}

}  // namespace calcant
