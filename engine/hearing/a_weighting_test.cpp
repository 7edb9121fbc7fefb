#include "engine/hearing/a_weighting.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "engine/hearing/test_sounds.hpp"

namespace calcant {
namespace {

// IEC 61672-1 table of A weightings at the exact third-octave frequencies, to its one decimal.
TEST(AWeighting, TableOfIec61672) {
  constexpr double table[] = {-70.4, -63.4, -56.7, -50.5, -44.7, -39.4, -34.6, -30.2, -26.2, -22.5, -19.1, -16.1,
                              -13.4, -10.9, -8.6,  -6.6,  -4.8,  -3.2,  -1.9,  -.8,   0,     .6,    1.0,   1.2,
                              1.3,   1.2,   1.0,   .5,    -.1,   -1.1,  -2.5,  -4.3,  -6.6,  -9.3};
  for (int i = 0; i < 34; ++i) {
    const Hertz f{1000 * std::pow(10, .1 * (i - 20))};
    EXPECT_NEAR(a_weighting(f).value(), table[i], .0501 + 5e-3) << f.value();
  }
  EXPECT_NEAR(a_weighting(Hertz{1000}).value(), 0, .001);
}

TEST(AWeighting, PowersAdd) {
  EXPECT_NEAR(a_weighted_level(tone(1000, 60) + tone(1000, 60))->value(), 63.01, .01);
  EXPECT_NEAR(a_weighted_level(tone(100, 80))->value(), 60.9, .06);
  EXPECT_EQ(a_weighted_level({})->value(), -200);
  EXPECT_FALSE(a_weighted_level(tone(-1, 60)));
}

}  // namespace
}  // namespace calcant
