#include "engine/sound/convolver.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/quantity/random.hpp"

namespace calcant {
namespace {

// Against the definition of convolution, summed directly in double precision.
TEST(Convolver, EqualsDirectSummationTo120dB) {
  Random random{3};
  constexpr int block = 256;
  constexpr std::size_t blocks = 12;
  std::vector<StereoResponse> responses(2);
  for (std::size_t b = 0; b < 2; ++b) {
    responses[b].left.resize(900 + 311 * b);
    responses[b].right.resize(1000);
    for (float& v : responses[b].left) v = static_cast<float>(random.normal());
    for (float& v : responses[b].right) v = static_cast<float>(random.normal());
  }
  std::vector<std::vector<float>> in(2, std::vector<float>(block * blocks));
  for (auto& bus : in) {
    for (float& v : bus) v = static_cast<float>(random.normal());
  }
  Convolver convolver{responses, block};
  EXPECT_EQ(convolver.tail(), 1211);
  std::vector<float> left(block);
  std::vector<float> right(block);
  double error = 0;
  double power = 0;
  for (std::size_t block_index = 0; block_index < blocks; ++block_index) {
    std::vector<std::vector<float>> now(2);
    for (std::size_t b = 0; b < 2; ++b) {
      now[b].assign(in[b].begin() + static_cast<long>(block_index * block),
                    in[b].begin() + static_cast<long>((block_index + 1) * block));
    }
    convolver.process(now, left, right);
    for (std::size_t i = 0; i < block; ++i) {
      const std::size_t at = block_index * block + i;
      double want_left = 0;
      double want_right = 0;
      for (std::size_t b = 0; b < 2; ++b) {
        for (std::size_t k = 0; k < responses[b].left.size() && k <= at; ++k) {
          want_left += static_cast<double>(in[b][at - k]) * responses[b].left[k];
        }
        for (std::size_t k = 0; k < responses[b].right.size() && k <= at; ++k) {
          want_right += static_cast<double>(in[b][at - k]) * responses[b].right[k];
        }
      }
      error += std::pow(want_left - left[i], 2) + std::pow(want_right - right[i], 2);
      power += want_left * want_left + want_right * want_right;
    }
  }
  EXPECT_LT(10 * std::log10(error / power), -120);
}

}  // namespace
}  // namespace calcant
