#include "engine/wind/wind.hpp"

#include <gtest/gtest.h>

namespace calcant {
namespace {

LitresPerSecond lps(double v) { return LitresPerSecond{v}; }

// pipes.md section 8, tests 13, 14 and 18: arithmetic on W. E. Dickson's and a blower fitter's figures.
TEST(Wind, ReservoirFeederBlower) {
  EXPECT_NEAR(reserve_time(CubicMetres{2.4 * 0.25}, lps(100))->value(), 6.0, 1e-9);
  EXPECT_NEAR(reserve_time(CubicMetres{0.6}, lps(100), lps(50))->value(), 12.0, 1e-9);
  EXPECT_FALSE(reserve_time(CubicMetres{0.6}, lps(40), lps(50)));
  EXPECT_NEAR(load(SquareMetres{2.4}, millimetres_of_water(75)).value(), 180, 1e-6);
  // Dickson 1882: a feeder of 7 sq ft dropping 10 in, 20 strokes a minute: 58.3 cubic feet a minute
  EXPECT_NEAR(feeder_supply(SquareMetres{7 * 0.3048 * 0.3048}, Metres{0.254}, 20).value(), 27.5, 0.05);
  // 15 stops at 0.5 to 0.625 m3 a minute: 98 to 123 W at 80 mm
  EXPECT_NEAR(air_power(millimetres_of_water(80), lps(15 * 0.5 / 60 * 1000)).value(), 98, 0.5);
  EXPECT_NEAR(air_power(millimetres_of_water(80), lps(15 * 0.625 / 60 * 1000)).value(), 123, 0.5);
  // 3 m3 a minute at 80 mm is 39 W; 75 W at 3 in is 100 l/s without losses, so 50 to 60 l/s with them (pipes.md 3.4)
  EXPECT_NEAR(air_power(millimetres_of_water(80), lps(50)).value(), 39, 0.5);
  EXPECT_NEAR(sustained_by_hand(inches_of_water(3)).value(), 55, 1);
}

TEST(Wind, Judgement) {
  EXPECT_EQ(judge(lps(59), lps(130)).verdict, WindVerdict::ample);
  EXPECT_EQ(judge(lps(120), lps(130)).verdict, WindVerdict::tight);
  const WindJudgement j = judge(lps(150), lps(50), CubicMetres{0.6});
  EXPECT_EQ(j.verdict, WindVerdict::falls_short);
  EXPECT_NEAR(j.lasts->value(), 6, 1e-9);
  EXPECT_EQ(sentence(j, "The pump"), "The pump gives 50 l/s, 150 are wanted: not enough; the reservoir lasts 6 s.");
  EXPECT_EQ(sentence(judge(lps(59), lps(130)), "The blower"), "The blower gives 130 l/s, 59 are wanted: ample.");
}

TEST(Wind, TableIsWhatTheVoicesTake) {
  Organ o;
  o.pitch = {given(Hertz{440}, "test"), given(Celsius{15}, "test")};
  o.divisions.resize(1);
  o.chests.resize(2);
  o.chests[0].trunk = "main";
  o.chests[1].trunk = "pedal";
  for (int i = 0; i < 3; ++i) {
    Rank r;
    r.id = std::string(1, static_cast<char>('a' + i));
    r.chest = i == 2 ? 1 : 0;
    r.family = i == 1 ? Family::reed : Family::principal;
    r.form = i == 1 ? Form::reed_full : Form::open;
    r.pitch = {{Note{36}, Feet{Rational{i == 2 ? 16 : 8}}}};
    o.ranks.push_back(r);
  }
  const Air air;
  const WindTable table(o, air);
  PipeSet set{std::vector<NoteSet>(3)};
  double sum = 0, pedal = 0;
  for (int rank = 0; rank < 3; ++rank)
    for (int number : {1, 25, 56}) {
      set.ranks[static_cast<std::size_t>(rank)].insert(number);
      const double w = voice(o, {rank, number}, air).wind.value();
      EXPECT_NEAR(table.of({rank, number}).value(), w, 1e-12);
      sum += w;
      if (rank == 2) pedal += w;
    }
  EXPECT_NEAR(table.demand(set).value(), sum, 1e-9);
  const auto trunks = table.by_trunk(set);
  ASSERT_EQ(trunks.size(), 2U);
  EXPECT_EQ(trunks[1].name, "pedal");
  EXPECT_NEAR(trunks[1].demand.value(), pedal, 1e-9);
  // a 16 ft pedal pipe takes 5 to 9 l/s (pipes.md 3.3, formula on an assumed windway)
  EXPECT_NEAR(table.of({2, 1}).value(), 7, 2);
}

}  // namespace
}  // namespace calcant
