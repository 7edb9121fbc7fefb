#include "engine/quantity/rational.hpp"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <limits>
#include <numeric>

namespace calcant {
namespace {
__extension__ using Wide = __int128;

Wide absolute(Wide v) { return v < 0 ? -v : v; }

Wide greatest_common_divisor(Wide a, Wide b) {
  a = absolute(a);
  b = absolute(b);
  while (b != 0) {
    const Wide t = a % b;
    a = b;
    b = t;
  }
  return a;
}

Rational reduced(Wide num, Wide den) {
  if (den < 0) {
    num = -num;
    den = -den;
  }
  const Wide g = greatest_common_divisor(num, den);
  if (g > 1) {
    num /= g;
    den /= g;
  }
  constexpr Wide limit = std::numeric_limits<std::int64_t>::max();
  if (absolute(num) <= limit && den <= limit) {
    return Rational{static_cast<std::int64_t>(num), static_cast<std::int64_t>(den)};
  }
  constexpr double grid = 1 << 20;
  const double value = static_cast<double>(num) / static_cast<double>(den);
  constexpr double far = 9.0e18 / grid;
  const double kept = value > far ? far : value < -far ? -far : value;
  return Rational{static_cast<std::int64_t>(std::llround(kept * grid)), static_cast<std::int64_t>(grid)};
}
}  // namespace

Rational::Rational(std::int64_t num, std::int64_t den) {
  if (num == std::numeric_limits<std::int64_t>::min()) ++num;
  if (den == std::numeric_limits<std::int64_t>::min()) ++den;
  const std::int64_t g = std::gcd(num, den);
  if (g > 1) {
    num /= g;
    den /= g;
  }
  num_ = den < 0 ? -num : num;
  den_ = den < 0 ? -den : den;
}

Rational operator+(Rational a, Rational b) {
  return reduced(Wide{a.num_} * b.den_ + Wide{b.num_} * a.den_, Wide{a.den_} * b.den_);
}
Rational operator-(Rational a, Rational b) {
  return reduced(Wide{a.num_} * b.den_ - Wide{b.num_} * a.den_, Wide{a.den_} * b.den_);
}
Rational operator*(Rational a, Rational b) { return reduced(Wide{a.num_} * b.num_, Wide{a.den_} * b.den_); }
Rational operator/(Rational a, Rational b) { return reduced(Wide{a.num_} * b.den_, Wide{a.den_} * b.num_); }

std::strong_ordering operator<=>(const Rational& a, const Rational& b) {
  return Wide{a.num_} * b.den_ <=> Wide{b.num_} * a.den_;
}

std::string to_string(Rational r) {
  return r.den() == 1 ? fmt::format("{}", r.num()) : fmt::format("{}/{}", r.num(), r.den());
}

Result<Rational> parse_rational(std::string_view text) {
  const auto bad = [&] { return fail(fmt::format("\"{}\" is no fraction; write it like 7/3 or 4", text)); };
  const auto whole = [](std::string_view part, std::int64_t& out) {
    const auto [end, ec] = std::from_chars(part.data(), part.data() + part.size(), out);
    return ec == std::errc{} && end == part.data() + part.size();
  };
  const auto slash = text.find('/');
  std::int64_t num = 0;
  std::int64_t den = 1;
  if (!whole(text.substr(0, slash), num)) return bad();
  if (slash != std::string_view::npos && (!whole(text.substr(slash + 1), den) || den == 0)) return bad();
  return Rational{num, den};
}

}  // namespace calcant
