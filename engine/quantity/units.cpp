#include "engine/quantity/units.hpp"

#include <cmath>

namespace calcant {
namespace {
constexpr double pascals_per_mm_water = 9.80665;  // conventional water at 4 C under standard gravity
constexpr double mm_per_inch = 25.4;
}  // namespace

Cents interval(Hertz low, Hertz high) { return Cents{1200.0 * std::log2(high / low)}; }
Hertz moved(Hertz f, Cents by) { return f * std::exp2(by.value() / 1200.0); }
Decibels power_to_decibels(double ratio) { return Decibels{10.0 * std::log10(ratio)}; }
double decibels_to_power(Decibels level) { return std::pow(10.0, level.value() / 10.0); }
Pascals millimetres_of_water(double mm) { return Pascals{mm * pascals_per_mm_water}; }
Pascals inches_of_water(double inches) { return millimetres_of_water(inches * mm_per_inch); }
double in_millimetres_of_water(Pascals p) { return p.value() / pascals_per_mm_water; }

}  // namespace calcant
