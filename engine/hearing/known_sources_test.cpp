#include "engine/hearing/known_sources.hpp"

#include <gtest/gtest.h>

#include "engine/hearing/test_sounds.hpp"

namespace calcant {
namespace {

// Its own standard is Ear::hear, which is checked against ISO 532-2 (loudness_test.cpp).
TEST(KnownSources, HearsAnyCompanyAsTheEarHearsItsLines) {
  Random random(5);
  std::vector<Lines> sources;
  for (int i = 0; i < 24; ++i) sources.push_back(some_chorus(random));
  for (const NumberSet set : {NumberSet::iso, NumberSet::ansi}) {
    const Ear ear({set, SoundField::diffuse, Ears::both, Grid::coarse});
    KnownSources known{ear};
    ASSERT_TRUE(known.add(std::span{sources}.first(10)));
    ASSERT_TRUE(known.add(std::span{sources}.subspan(10)));
    ASSERT_EQ(known.size(), 24U);
    for (int company = 0; company < 20; ++company) {
      std::vector<std::uint32_t> sounding;
      Lines lines;
      for (std::uint32_t s = 0; s < 24; ++s) {
        if (random.uniform() < .6) continue;
        sounding.push_back(s);
        lines = std::move(lines) + sources[s];
      }
      const Heard heard = known.hear(sounding);
      const Heard expected = *ear.hear(lines);
      EXPECT_NEAR(heard.loudness.sones / expected.loudness.sones, 1, 2e-5);
      EXPECT_NEAR(heard.brightness / expected.brightness, 1, 2e-5);
      for (std::size_t i = 0; i < expected.excitation.size(); ++i) {
        EXPECT_NEAR(heard.excitation[i] / expected.excitation[i], 1, 1e-3) << "filter " << i;
      }
    }
    EXPECT_EQ(known.hear({}).loudness.sones, Sones{0});
  }
}

const Ear coarse({NumberSet::iso, SoundField::diffuse, Ears::both, Grid::coarse});

TEST(KnownSources, TheSameWhateverElseIsKnown) {
  const Lines flute = harmonics(262, 4, 60, -12);
  const Lines reed = harmonics(262, 20, 66, -4);
  KnownSources few{coarse};
  ASSERT_TRUE(few.add(std::vector<Lines>{flute, reed}));
  KnownSources many{coarse};
  ASSERT_TRUE(many.add(std::vector<Lines>{harmonics(131, 12, 70, -6), reed, harmonics(524, 9, 50, -9), flute}));
  const std::vector<std::uint32_t> both{0, 1};
  const std::vector<std::uint32_t> the_same{1, 3};
  EXPECT_EQ(few.hear(both).excitation, many.hear(the_same).excitation);
}

TEST(KnownSources, RefusesWhatTheEarRefusesAndKeepsWhatItHad) {
  KnownSources known{coarse};
  ASSERT_TRUE(known.add(std::vector<Lines>{tone(440, 60)}));
  const auto refused = known.add(std::vector<Lines>{tone(880, 60), tone(-1, 60)});
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().where, "line 1");
  EXPECT_EQ(known.size(), 1U);
  const std::vector<std::uint32_t> all{0};
  EXPECT_NEAR(known.hear(all).loudness.sones / coarse.hear(tone(440, 60))->loudness.sones, 1, 2e-5);
}

}  // namespace
}  // namespace calcant
