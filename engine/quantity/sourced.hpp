// A figure that carries where it comes from.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>

namespace calcant {

// In order of trust: what was measured beats what was given, that beats what was computed, that beats an assumption.
enum class Source { assumed, computed, given, measured };

[[nodiscard]] constexpr std::string_view word(Source s) {
  switch (s) {
    case Source::measured: return "measured";
    case Source::given: return "given";
    case Source::computed: return "computed";
    case Source::assumed: break;
  }
  return "assumed";
}

// value: the figure; half_width_95: half of its 95 % interval in the figure's own unit, where known; date: ISO 8601
// (2026-11-22) where it is dated; basis: formula, table, instrument or person it rests on; conditions: temperature,
// place, microphone. A T must be default-constructible and comparable.
template <class T>
struct Sourced {
  T value{};
  Source source = Source::assumed;
  std::optional<double> half_width_95{};
  std::string date{};
  std::string basis{};
  std::string conditions{};

  friend bool operator==(const Sourced&, const Sourced&) = default;
};

template <class T>
[[nodiscard]] Sourced<T> assumed(T value, std::string basis) {
  return {std::move(value), Source::assumed, std::nullopt, {}, std::move(basis), {}};
}
template <class T>
[[nodiscard]] Sourced<T> given(T value, std::string basis = {}) {
  return {std::move(value), Source::given, std::nullopt, {}, std::move(basis), {}};
}

// Whether `challenger` replaces `holder` when both speak of the same thing at the same level (one pipe, one rank):
// the better source wins, between equals the newer date, between equal dates the challenger.
template <class T>
[[nodiscard]] bool replaces(const Sourced<T>& challenger, const Sourced<T>& holder) {
  if (challenger.source != holder.source) return challenger.source > holder.source;
  return challenger.date >= holder.date;
}

}  // namespace calcant
