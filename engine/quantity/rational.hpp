// Exact fractions for musical time: a quarter note cut by a triplet and a quintuplet still adds up to a bar.
#pragma once

#include <compare>
#include <cstdint>
#include <string>
#include <string_view>

#include "engine/quantity/result.hpp"

namespace calcant {

// Always in lowest terms with a positive denominator. Sums whose exact value needs more than 64 bits are rounded to
// the nearest multiple of 1/2^20 (no score of music comes near), so arithmetic never overflows and never traps.
class Rational {
 public:
  constexpr Rational() = default;
  constexpr Rational(std::int64_t whole) : num_(whole) {}  // NOLINT: a whole number is a fraction
  // `den` must not be 0.
  Rational(std::int64_t num, std::int64_t den);

  [[nodiscard]] constexpr std::int64_t num() const { return num_; }
  [[nodiscard]] constexpr std::int64_t den() const { return den_; }
  [[nodiscard]] double to_double() const { return static_cast<double>(num_) / static_cast<double>(den_); }

  friend Rational operator+(Rational a, Rational b);
  friend Rational operator-(Rational a, Rational b);
  friend Rational operator*(Rational a, Rational b);
  friend Rational operator/(Rational a, Rational b);  // b must not be 0
  Rational& operator+=(Rational b) { return *this = *this + b; }
  Rational& operator-=(Rational b) { return *this = *this - b; }
  friend constexpr bool operator==(const Rational&, const Rational&) = default;
  friend std::strong_ordering operator<=>(const Rational& a, const Rational& b);

 private:
  std::int64_t num_ = 0;
  std::int64_t den_ = 1;
};

// "7/3", "-1/2", "4"; and back, refusing anything else and a denominator of 0.
[[nodiscard]] std::string to_string(Rational r);
[[nodiscard]] Result<Rational> parse_rational(std::string_view text);

}  // namespace calcant
