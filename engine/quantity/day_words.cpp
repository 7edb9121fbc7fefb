#include "engine/quantity/day_words.hpp"

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

std::optional<std::chrono::year_month_day> calendar_day(std::string_view date) {
  if (date.size() != 10 || date[4] != '-' || date[7] != '-') return std::nullopt;
  const auto year = digits(date.substr(0, 4));
  const auto month = digits(date.substr(5, 2));
  const auto day = digits(date.substr(8, 2));
  if (!year || !month || !day) return std::nullopt;
  const std::chrono::year_month_day ymd{std::chrono::year{static_cast<int>(*year)}, std::chrono::month{*month},
                                        std::chrono::day{*day}};
  return ymd.ok() ? std::optional{ymd} : std::nullopt;
}

}  // namespace

std::string date_in_words(std::string_view date) {
  const auto d = calendar_day(date);
  if (!d) return std::string{date};
  return fmt::format("{} {} {}", static_cast<unsigned>(d->day()), months[static_cast<unsigned>(d->month()) - 1],
                     static_cast<int>(d->year()));
}

std::string day_in_words(std::string_view date) {
  const auto d = calendar_day(date);
  if (!d) return std::string{date};
  return fmt::format("{} {}", days[std::chrono::weekday{std::chrono::sys_days{*d}}.c_encoding()], date_in_words(date));
}

}  // namespace calcant
