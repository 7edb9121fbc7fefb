#include "engine/room/field.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "engine/room/materials.hpp"

namespace calcant {
namespace {

RoomDescription measured(double volume, double seconds) {
  RoomDescription r;
  r.volume = CubicMetres{volume};
  r.reverberation_measured = true;
  r.reverberation.fill(seconds);
  return r;
}

// measuring.md 7.2 (worked from the textbook formulas): V = 3600 m3, T = 1.4 s.
TEST(Field, ScaleNumbersOfTheWorkedChurch) {
  const Field f(measured(3600, 1.4));
  EXPECT_NEAR(f.critical_distance(Hertz{1000}).value(), 2.9, 0.05);
  EXPECT_NEAR(f.schroeder().value(), 39, 0.5);
  for (double t : f.reverberation()) EXPECT_NEAR(t, 1.4, 1e-9);
}

// The level of the textbooks in Barron's form: strength G (re 10 m in the free field, +31 dB of power level) is
// 10 lg(100/r^2 + 31200 T/V exp(-0.04 r/T)) (Barron & Lee 1988).
TEST(Field, LevelsAfterBarron) {
  const Field f(measured(3600, 1.4));
  for (double r : {1.0, 3.0, 10.0, 20.0}) {
    const double g = 10 * std::log10(100 / (r * r) + 31200 * 1.4 / 3600 * std::exp(-0.04 * r / 1.4));
    EXPECT_NEAR(f.transfer(Hertz{500}, Metres{r}).value() + 10 * std::log10(4 * M_PI * 100), g, 0.06) << r;
  }
  EXPECT_LT(f.transfer(Hertz{500}, Metres{0}).value(), 0);  // no infinity at the mouth
}

// W. C. Sabine's constant, 0.161 s/m at 20 C, in a room of one even absorption, and Eyring's correction.
TEST(Field, EyringBox) {
  RoomDescription r;  // 10 x 8 x 5 m
  r.volume = CubicMetres{400};
  r.air.temperature = Celsius{20};
  Bands a;
  a.fill(0.2);
  r.surfaces = {{SquareMetres{340}, a}};
  const Field f(r);
  const double eyring = 0.161 * 400 / (-340 * std::log(0.8));
  EXPECT_NEAR(f.reverberation()[2], eyring, 0.02 * eyring);  // 250 Hz: air hardly counts
  // air alone caps reverberation at 10 C, 70 %: 5.4 s at 4 kHz, 1.5 s at 8 kHz (measuring.md 7.4, from ISO 9613-1)
  r.air.temperature = Celsius{10};
  r.air.humidity = 0.7;
  a.fill(0);
  r.surfaces[0].absorption = a;
  r.surfaces[0].area = SquareMetres{1e-3};
  const Field bare(r);
  EXPECT_NEAR(bare.reverberation()[6], 5.4, 0.1);
  EXPECT_NEAR(bare.reverberation()[7], 1.5, 0.05);
}

// Four churches of mean volume 6314 m3 with a mean of 155 persons: 0.57 +- 0.09 m2 a person from their mean
// reverberation (A. P. O. Carvalho, Porto; abstract read).
TEST(Field, PersonsAsMeasuredInFourChurches) {
  RoomDescription r = measured(6314, 3.0);
  const Field empty(r);
  r.persons = 155;
  const Field occupied(r);
  double gained = 0;
  for (std::size_t i : {3U, 4U, 5U}) {
    gained += 0.161 * 6314 * (1 / occupied.reverberation()[i] - 1 / empty.reverberation()[i]) / 155 / 3;
    EXPECT_LT(occupied.reverberation()[i], empty.reverberation()[i]);
  }
  EXPECT_NEAR(gained, 0.57, 0.09);
}

TEST(Field, NeverFails) {
  for (double volume : {-5.0, 0.0, 1e9})
    for (double t : {0.0, -1.0, 1e9, std::nan("")}) {
      const Field f(measured(volume, std::isnan(t) ? 1 : t));
      EXPECT_TRUE(std::isfinite(f.transfer(Hertz{63}, Metres{5}).value()));
    }
  RoomDescription nothing;
  nothing.volume = CubicMetres{2000};
  EXPECT_NEAR(Field(nothing).reverberation()[4], 1.6, 0.01);
}

TEST(Materials, KnownAndUnknown) {
  EXPECT_NEAR(surface_material("carpet-heavy")->absorption[4], 0.37, 1e-9);  // 1 kHz, Cox & D'Antonio
  EXPECT_THAT(surface_material("gold").error().message, testing::HasSubstr("plaster-on-brick"));
  for (const auto& m : surface_materials())
    for (double a : m.absorption) EXPECT_TRUE(a > 0 && a <= 1) << m.id;
}

}  // namespace
}  // namespace calcant
