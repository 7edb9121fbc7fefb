// Levels drawn again, against the other place where they are (weigh) and against the sense of it.
#include "engine/registration/level_draws.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "engine/registration/choose_test.hpp"
#include "engine/registration/chord_ear.hpp"
#include "engine/registration/weigh.hpp"

namespace calcant {
namespace {

TEST(LevelDraws, SpreadAsWeighSaysOnOneChord) {
  const ChurchOrgan chapel{"demo/chapel", "manual"};
  const Registration drawn = chapel.draw("Open Diapason 8, Principal 4");
  const auto chords = stated_chords(chapel.organ, chapel.on);
  LevelDraws draws{chapel.nave, 200};
  const auto again = draws.phons(drawn, {chords[1]}, Work{2});
  ASSERT_TRUE(again) << sentence(again.error());
  auto phons = *again;
  std::sort(phons.begin(), phons.end());
  const auto weighed = weigh(chapel.nave, drawn, chords[1], {}, Work{2});
  ASSERT_TRUE(weighed) << sentence(weighed.error());
  const auto at = [&](double share) {
    return phons[static_cast<std::size_t>(std::lround(share * static_cast<double>(phons.size() - 1)))];
  };
  EXPECT_GT(weighed->phon_95.value(), 1.0);
  EXPECT_NEAR((at(0.975) - at(0.025)) / 2, weighed->phon_95.value(), 0.1);
  EXPECT_NEAR(at(0.5), weighed->loudness.phons.value(), 1.0);
}

// A stop by itself is the louder the higher its rank was drawn, whatever else was; the same on two threads, and kept.
TEST(LevelDraws, AStopAloneGoesWithItsRank) {
  const ChurchOrgan chapel{"demo/chapel", "manual"};
  const Registration drawn = chapel.draw("Open Diapason 8");
  const auto rank = static_cast<std::size_t>(chapel.organ.stops[drawn.stops._Find_first()].parts.front().rank);
  const auto chords = stated_chords(chapel.organ, chapel.on);
  LevelDraws draws{chapel.nave, 40};
  const auto phons = draws.phons(drawn, chords, Work{2});
  ASSERT_TRUE(phons);
  std::vector<std::pair<double, double>> both;
  for (std::size_t d = 0; d < phons->size(); ++d) {
    both.emplace_back(redrawn_levels(chapel.organ, 1, d)[rank].value(), (*phons)[d]);
  }
  std::sort(both.begin(), both.end());
  EXPECT_TRUE(std::is_sorted(both.begin(), both.end(), [](auto a, auto b) { return a.second < b.second; }));
  LevelDraws alone{chapel.nave, 40};
  EXPECT_EQ(*phons, *alone.phons(drawn, chords, Work{1}));
  EXPECT_EQ(*phons, *draws.phons(drawn, chords, Work{1}));
  std::stop_source stop;
  stop.request_stop();
  EXPECT_FALSE(draws.phons(chapel.draw("Principal 4"), chords, Work{1, stop.get_token()}));
}

}  // namespace
}  // namespace calcant
