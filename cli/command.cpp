#include "cli/command.hpp"

#include <fmt/format.h>

#include <cctype>
#include <charconv>
#include <cmath>
#include <utility>

namespace calcant::cli {

void Given::put(const std::string& name, std::vector<std::string> values, bool typed) {
  values_[name] = std::move(values);
  typed_[name] = typed;
}

bool Given::typed(const std::string& name) const {
  const auto found = typed_.find(name);
  return found != typed_.end() && found->second;
}

std::optional<std::string> Given::text(const std::string& name) const {
  const auto found = values_.find(name);
  if (found == values_.end() || found->second.empty()) return std::nullopt;
  return found->second.back();
}

std::string Given::text_or(const std::string& name, std::string otherwise) const {
  return text(name).value_or(std::move(otherwise));
}

std::vector<std::string> Given::all(const std::string& name) const {
  const auto found = values_.find(name);
  return found == values_.end() ? std::vector<std::string>{} : found->second;
}

namespace {
// The unit may be left out, in either case, after a blank or a degree sign.
std::string without_unit(std::string text, std::string_view unit) {
  const auto alike = [](char a, char b) {
    return std::tolower(static_cast<unsigned char>(a)) == std::tolower(static_cast<unsigned char>(b));
  };
  if (!unit.empty() && text.size() > unit.size()) {
    const auto tail = text.size() - unit.size();
    bool same = true;
    for (std::size_t i = 0; i < unit.size(); ++i) same = same && alike(text[tail + i], unit[i]);
    if (same) text.resize(tail);
  }
  constexpr std::string_view degree = "\u00b0";
  if (text.ends_with(degree)) text.resize(text.size() - degree.size());
  while (!text.empty() && text.back() == ' ') text.pop_back();
  return text;
}
}  // namespace

Result<std::optional<double>> Given::number(const std::string& name, double low, double high,
                                            std::string_view unit) const {
  const auto typed_text = text(name);
  if (!typed_text) return std::optional<double>{};
  const std::string digits = without_unit(*typed_text, unit);
  double value = 0;
  const char* begin = digits.data();
  const char* end = begin + digits.size();
  if (begin != end && *begin == '+') ++begin;
  const auto [stop, fault] = std::from_chars(begin, end, value);
  if (fault != std::errc{} || stop != end || !std::isfinite(value) || value < low || value > high) {
    return fail(fmt::format("takes a number from {:g} to {:g}{}{}, not '{}'.", low, high, unit.empty() ? "" : " ", unit,
                            *typed_text),
                name);
  }
  return value;
}

Result<std::optional<int>> Given::whole(const std::string& name, int low, int high) const {
  const auto typed_text = text(name);
  if (!typed_text) return std::optional<int>{};
  int value = 0;
  const char* end = typed_text->data() + typed_text->size();
  const auto [stop, fault] = std::from_chars(typed_text->data(), end, value);
  if (fault != std::errc{} || stop != end || value < low || value > high) {
    return fail(fmt::format("takes a whole number from {} to {}, not '{}'.", low, high, *typed_text), name);
  }
  return value;
}

}  // namespace calcant::cli
