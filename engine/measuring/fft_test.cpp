// Against the definition of the transform, summed term by term in double.
#include "engine/measuring/fft.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "engine/quantity/random.hpp"

namespace calcant::measuring {
namespace {

TEST(Fft, IsTheSumItIsDefinedAs) {
  Random r{3};
  for (const std::size_t size : {4U, 8U, 16U, 32U, 64U, 128U, 512U, 1024U}) {
    std::vector<float> x(size);
    for (float& v : x) v = static_cast<float>(r.normal());
    Fft fft{size};
    const auto got = fft.transform(x);
    ASSERT_EQ(got.size(), size / 2 + 1);
    for (std::size_t k = 0; k <= size / 2; ++k) {
      std::complex<double> sum = 0.0;
      for (std::size_t n = 0; n < size; ++n)
        sum += static_cast<double>(x[n]) *
               std::polar(1.0, -2.0 * std::numbers::pi * static_cast<double>(k * n % size) / static_cast<double>(size));
      EXPECT_NEAR(static_cast<double>(got[k].real()), sum.real(), 2e-6 * static_cast<double>(size)) << size << ' ' << k;
      EXPECT_NEAR(static_cast<double>(got[k].imag()), sum.imag(), 2e-6 * static_cast<double>(size)) << size << ' ' << k;
    }
  }
}

// A sine of amplitude 1 shows as 1; the window spans what was given, zeros follow.
TEST(Fft, PowerOfASine) {
  Fft fft{1024};
  for (const std::size_t given : {1024U, 512U}) {
    std::vector<float> x(given);
    for (std::size_t n = 0; n < given; ++n)
      x[n] = static_cast<float>(std::sin(2.0 * std::numbers::pi * 64.0 * static_cast<double>(n) / 1024.0));
    EXPECT_NEAR(static_cast<double>(fft.power(x)[64]), 1.0, 1e-4) << given;
  }
}

}  // namespace
}  // namespace calcant::measuring
