// Arithmetic by hand: litres in, litres out.
#include "engine/wind/sag.hpp"

#include <gtest/gtest.h>

namespace calcant {
namespace {

DemandChange change(double at, double by) { return {Seconds{at}, LitresPerSecond{by}}; }

double pressure(const Sag& s, double at) {
  double before = 1;
  double when = 0;
  for (const WindPoint& p : s.pressure) {
    if (at < p.at.value()) return before + (p.pressure - before) * (at - when) / (p.at.value() - when);
    before = p.pressure;
    when = p.at.value();
  }
  return before;
}

TEST(Sag, HoldsWhileTheSupplyKeepsUpOrTheReserveLasts) {
  EXPECT_TRUE(sag({change(0, 100), change(50, -100)}, LitresPerSecond{100}, CubicMetres{0.1}).pressure.empty());
  // 1000 l last 10 s at 100 l/s too much
  const Sag s = sag({change(0, 200), change(9.9, -200)}, LitresPerSecond{100}, CubicMetres{1});
  EXPECT_TRUE(s.pressure.empty());
  EXPECT_FALSE(sentence(s, LitresPerSecond{100}, "The blower"));
  EXPECT_EQ(s.most, LitresPerSecond{200});
}

TEST(Sag, FallsToWhereTheSupplyIsEnoughAndComesBack) {
  // Empty at 10 s: a quarter. At 20 s only 125 l/s are wanted: 0.64. At 30 s the pipes are let go; 50 l/s come in, less the
  // 50 that others take, so by 34 s there are 200 l, which last 2 s at 100 l/s too much.
  const Sag s =
      sag({change(0, 200), change(20, -75), change(30, -75), change(34, 150)}, LitresPerSecond{100}, CubicMetres{1});
  ASSERT_TRUE(s.empty_at);
  EXPECT_NEAR(s.empty_at->value(), 10, 1e-9);
  EXPECT_NEAR(pressure(s, 9.99), 1, 1e-9);
  EXPECT_NEAR(pressure(s, 10.5), 0.25, 1e-9);
  EXPECT_NEAR(pressure(s, 20.5), 0.64, 1e-9);
  EXPECT_NEAR(pressure(s, 30.15), 0.82, 1e-9);  // half way back
  EXPECT_NEAR(pressure(s, 31), 1, 1e-9);
  EXPECT_NEAR(pressure(s, 35.99), 1, 1e-9);
  EXPECT_NEAR(pressure(s, 40), 0.25, 1e-9);
  EXPECT_NEAR(s.least, 0.25, 1e-9);
  EXPECT_EQ(
      sentence(s, LitresPerSecond{100}, "The blower"),
      "The blower gives 100 l/s and up to 200 are wanted: the reservoir is empty after 10 s, and the pressure falls "
      "to 25 %.");
}

TEST(Sag, TurnsFromWhereItIsAndInOrder) {
  // No reserve at all; let go 0.1 s after: a third of the way to a quarter is 0.75.
  const Sag s = sag({change(1.1, -200), change(1, 200)}, LitresPerSecond{100}, CubicMetres{0});
  EXPECT_NEAR(pressure(s, 1.1), 0.75, 1e-9);
  EXPECT_NEAR(pressure(s, 1.4), 1, 1e-9);
  for (std::size_t i = 1; i < s.pressure.size(); ++i) EXPECT_LT(s.pressure[i - 1].at, s.pressure[i].at);
}

}  // namespace
}  // namespace calcant
