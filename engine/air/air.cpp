#include "engine/air/air.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace calcant {
namespace {

constexpr double zero_celsius = 273.15;

// Saturation vapour pressure over water, Pa, and the enhancement factor of moist air (Davis, Metrologia 29 (1992) 67).
double saturation_pressure(double t) {
  const double k = t + zero_celsius;
  return std::exp(1.2811805e-5 * k * k - 1.9509874e-2 * k + 34.04926034 - 6353.6311 / k);
}
double water_fraction(const Air& air) {
  const double t = air.temperature.value();
  const double p = air.pressure.value();
  const double enhancement = 1.00062 + 3.14e-8 * p + 5.6e-7 * t * t;
  return air.humidity * enhancement * saturation_pressure(t) / p;
}

double iso_speed(double t) { return 343.2 * std::sqrt((t + zero_celsius) / 293.15); }

// The polynomial of Cramer's table III, within whose range the caller stays.
double cramer_speed(const Air& air) {
  const double t = air.temperature.value();
  const double p = air.pressure.value();
  const double xc = air.carbon_dioxide;
  const double xw = water_fraction(air);
  return 331.5024 + 0.603055 * t - 0.000528 * t * t + (51.471935 + 0.1495874 * t - 0.000782 * t * t) * xw +
         (-1.82e-7 + 3.73e-8 * t - 2.93e-10 * t * t) * p + (-85.20931 - 0.228525 * t + 5.91e-5 * t * t) * xc -
         2.835149 * xw * xw - 2.15e-13 * p * p + 29.179762 * xc * xc + 0.000486 * xw * p * xc;
}

// Written so that a NaN is out of every range.
bool within(double value, double low, double high) { return value >= low && value <= high; }

}  // namespace

Result<MetresPerSecond> speed_of_sound_iso(Celsius t) {
  if (!within(t.value(), -20, 50))
    return fail(fmt::format("The speed of sound by ISO 9613-1 holds from -20 to 50 °C, not at {:g} °C.", t.value()));
  return MetresPerSecond{iso_speed(t.value())};
}

Result<MetresPerSecond> speed_of_sound_cramer(const Air& air) {
  if (!within(air.temperature.value(), 0, 30))
    return fail(fmt::format("The speed of sound by Cramer 1993 holds from 0 to 30 °C, not at {:g} °C.",
                            air.temperature.value()));
  if (!within(air.pressure.value(), 75e3, 102e3))
    return fail(fmt::format("The speed of sound by Cramer 1993 holds from 75 to 102 kPa, not at {:g} kPa.",
                            air.pressure.value() / 1000));
  if (!within(air.humidity, 0, 1))
    return fail(fmt::format("Relative humidity goes from 0 to 1 (0 to 100 %), not {:g}.", air.humidity));
  if (!within(air.carbon_dioxide, 0, 0.01))
    return fail(fmt::format("The speed of sound by Cramer 1993 holds up to 1 % of carbon dioxide, not at {:g} %.",
                            air.carbon_dioxide * 100));
  if (water_fraction(air) > 0.06) return fail("The speed of sound by Cramer 1993 holds up to 6 % of water vapour.");
  return MetresPerSecond{cramer_speed(air)};
}

MetresPerSecond speed_of_sound(const Air& air) {
  if (const auto c = speed_of_sound_cramer(air)) return *c;
  const double t = air.temperature.value();
  return MetresPerSecond{iso_speed(t == t ? std::clamp(t, -20.0, 50.0) : 15.0)};
}

KilogramsPerCubicMetre density(const Air& air) {
  const double dry = (28.9635 + 12.011 * (air.carbon_dioxide - 0.0004)) * 1e-3;  // kg/mol
  const double water = 18.015e-3;
  const double k = air.temperature.value() + zero_celsius;
  return KilogramsPerCubicMetre{air.pressure.value() * dry * (1 - water_fraction(air) * (1 - water / dry)) /
                                (8.314472 * k)};
}

double absorption_db_per_metre(const Air& air, Hertz f) {
  const double k = air.temperature.value() + zero_celsius;
  const double pressure = air.pressure.value() / 101325.0;
  const double warm = k / 293.15;
  const double saturation = std::pow(10.0, -6.8346 * std::pow(273.16 / k, 1.261) + 4.6151);  // share of 101.325 kPa
  const double h = 100.0 * air.humidity * saturation / pressure;  // molar concentration of water vapour, per cent
  const double oxygen = pressure * (24 + 4.04e4 * h * (0.02 + h) / (0.391 + h));
  const double nitrogen =
      pressure / std::sqrt(warm) * (9 + 280 * h * std::exp(-4.170 * (std::pow(warm, -1.0 / 3) - 1)));
  const double f2 = f.value() * f.value();
  const double classical = 1.84e-11 / pressure * std::sqrt(warm);
  const double relaxation = std::pow(warm, -2.5) * (0.01275 * std::exp(-2239.1 / k) / (oxygen + f2 / oxygen) +
                                                    0.1068 * std::exp(-3352.0 / k) / (nitrogen + f2 / nitrogen));
  return 8.686 * f2 * (classical + relaxation);
}

}  // namespace calcant
