// Quantities with their unit in the type: a Hertz is never handed over where Cents are meant.
//
// Every public boundary of the engine takes and returns these; inside a function a bare double is fine. Make one from
// a number by naming the unit (`Hertz{440}` or `440_Hz`), take the number out by `.value()`. Adding, subtracting,
// scaling and comparing stay within one unit; converting between units is always a named function.
#pragma once

#include <compare>

namespace calcant {

template <class Tag>
class Quantity {
 public:
  constexpr Quantity() = default;
  constexpr explicit Quantity(double value) : value_(value) {}
  [[nodiscard]] constexpr double value() const { return value_; }

  friend constexpr Quantity operator+(Quantity a, Quantity b) { return Quantity{a.value_ + b.value_}; }
  friend constexpr Quantity operator-(Quantity a, Quantity b) { return Quantity{a.value_ - b.value_}; }
  friend constexpr Quantity operator-(Quantity a) { return Quantity{-a.value_}; }
  friend constexpr Quantity operator*(Quantity a, double k) { return Quantity{a.value_ * k}; }
  friend constexpr Quantity operator*(double k, Quantity a) { return Quantity{a.value_ * k}; }
  friend constexpr Quantity operator/(Quantity a, double k) { return Quantity{a.value_ / k}; }
  friend constexpr double operator/(Quantity a, Quantity b) { return a.value_ / b.value_; }
  constexpr Quantity& operator+=(Quantity b) {
    value_ += b.value_;
    return *this;
  }
  constexpr Quantity& operator-=(Quantity b) {
    value_ -= b.value_;
    return *this;
  }
  friend constexpr auto operator<=>(Quantity, Quantity) = default;

 private:
  double value_ = 0.0;
};

using Hertz = Quantity<struct HertzTag>;
using Cents = Quantity<struct CentsTag>;        // 1200 to the octave
using Decibels = Quantity<struct DecibelsTag>;  // of what is said where it is used: SPL re 20 uPa, or power re 1 pW
using Celsius = Quantity<struct CelsiusTag>;
using Pascals = Quantity<struct PascalsTag>;
using Metres = Quantity<struct MetresTag>;
using SquareMetres = Quantity<struct SquareMetresTag>;
using CubicMetres = Quantity<struct CubicMetresTag>;
using Seconds = Quantity<struct SecondsTag>;
using MetresPerSecond = Quantity<struct MetresPerSecondTag>;
using KilogramsPerCubicMetre = Quantity<struct KilogramsPerCubicMetreTag>;
using LitresPerSecond = Quantity<struct LitresPerSecondTag>;
using Sones = Quantity<struct SonesTag>;
using Phons = Quantity<struct PhonsTag>;

namespace literals {
constexpr Hertz operator""_Hz(long double v) { return Hertz{static_cast<double>(v)}; }
constexpr Hertz operator""_Hz(unsigned long long v) { return Hertz{static_cast<double>(v)}; }
constexpr Cents operator""_cents(long double v) { return Cents{static_cast<double>(v)}; }
constexpr Cents operator""_cents(unsigned long long v) { return Cents{static_cast<double>(v)}; }
constexpr Decibels operator""_dB(long double v) { return Decibels{static_cast<double>(v)}; }
constexpr Decibels operator""_dB(unsigned long long v) { return Decibels{static_cast<double>(v)}; }
constexpr Celsius operator""_degC(long double v) { return Celsius{static_cast<double>(v)}; }
constexpr Celsius operator""_degC(unsigned long long v) { return Celsius{static_cast<double>(v)}; }
constexpr Seconds operator""_s(long double v) { return Seconds{static_cast<double>(v)}; }
constexpr Seconds operator""_s(unsigned long long v) { return Seconds{static_cast<double>(v)}; }
constexpr Metres operator""_m(long double v) { return Metres{static_cast<double>(v)}; }
constexpr Metres operator""_m(unsigned long long v) { return Metres{static_cast<double>(v)}; }
}  // namespace literals

// The interval from `low` up to `high`, negative when `high` is the lower of the two. Both must be positive.
[[nodiscard]] Cents interval(Hertz low, Hertz high);
// `f` moved by `by`.
[[nodiscard]] Hertz moved(Hertz f, Cents by);
// 10 lg of a power ratio, and back.
[[nodiscard]] Decibels power_to_decibels(double ratio);
[[nodiscard]] double decibels_to_power(Decibels level);
// The pressure of a column of water, as organ builders measure wind: 9.80665 Pa a millimetre, 249.08891 Pa an inch.
[[nodiscard]] Pascals millimetres_of_water(double mm);
[[nodiscard]] Pascals inches_of_water(double inches);
[[nodiscard]] double in_millimetres_of_water(Pascals p);

}  // namespace calcant
