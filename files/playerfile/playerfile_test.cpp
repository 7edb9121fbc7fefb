#include "files/playerfile/playerfile.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace calcant {
namespace {

using testing::HasSubstr;

Player read(std::string_view text) {
  const auto p = read_player(text, "player.toml");
  EXPECT_TRUE(p) << (p ? "" : sentence(p.error()));
  return p.value_or(Player{});
}

TEST(PlayerFile, WhatIsLeftOutKeepsItsDefaultAndItsSource) {
  const Player p = read("version = 1\n");
  EXPECT_EQ(p.left.most.value, 14);
  EXPECT_EQ(p.one_knob.source, Source::assumed);
  EXPECT_EQ(p.feet, FeetStyle::legato);
  EXPECT_FALSE(p.heel_on_sharps);
  EXPECT_EQ(p.foot_span.value, 4);
}

TEST(PlayerFile, ReadsThePlayersOwn) {
  const Player p = read(R"(
version = 1
name = "deputy"
helper = true
turns_own_pages = false
[hands]
comfortable = 11
most = 13
right_most = { value = 15, from = "measured", date = 2026-11-01, basis = "on the Great" }
[feet]
style = "left-foot-only"
heel_on_sharps = true
span = 3
[touch]
inner = "repeat"
lift = 0.5
[seconds]
one_knob = { value = 1.25, from = "measured", date = "2026-11-01", plus_minus = 0.2, basis = "five changes timed" }
further_knob = 1
leap = 0.2
)");
  EXPECT_EQ(p.name, "deputy");
  EXPECT_TRUE(p.helper);
  EXPECT_EQ(p.left.most.value, 13);
  EXPECT_EQ(p.right.most.value, 15);
  EXPECT_EQ(p.right.most.source, Source::measured);
  EXPECT_EQ(p.right.most.date, "2026-11-01");
  EXPECT_EQ(p.left.comfortable.source, Source::given);
  EXPECT_EQ(p.feet, FeetStyle::left_foot_only);
  EXPECT_EQ(p.touch.tune, Repeat::strike);
  EXPECT_EQ(p.touch.inner, Repeat::strike);
  EXPECT_EQ(p.touch.lift_quarters, 0.5);
  EXPECT_DOUBLE_EQ(p.one_knob.value.value(), 1.25);
  EXPECT_EQ(p.one_knob.half_width_95, 0.2);
  EXPECT_DOUBLE_EQ(p.further_knob.value.value(), 1.0);
  EXPECT_DOUBLE_EQ(p.leap.value.value(), 0.2);
  EXPECT_EQ(p.leap.source, Source::given);
}

TEST(PlayerFile, TellsEveryFaultWithItsPlace) {
  const auto p = read_player(R"(version = 1
[hands]
comfortable = 40
[feet]
style = "heels"
spam = 4
[seconds]
one_knob = "fast"
)",
                             "player.toml");
  ASSERT_FALSE(p);
  EXPECT_EQ(p.error().where, "player.toml:3:15");
  const std::string all = sentence(p.error());
  EXPECT_THAT(all, HasSubstr("from 5 to 24"));
  EXPECT_THAT(all, HasSubstr("player.toml:5:9"));
  EXPECT_THAT(all, HasSubstr("legato, toes, left-foot-only or simplified"));
  EXPECT_THAT(all, HasSubstr("perhaps \"span\""));
  EXPECT_THAT(all, HasSubstr("player.toml:8:12"));
}

TEST(PlayerFile, RefusesWhatItCannotKnow) {
  EXPECT_THAT(sentence(read_player("version = 2\n", "p").error()), HasSubstr("reads up to 1"));
  EXPECT_FALSE(read_player("", "p"));
  EXPECT_FALSE(read_player("version = ", "p"));
  EXPECT_FALSE(read_player("[[#", "p"));
  EXPECT_FALSE(read_player(std::string(100, '['), "p"));
  EXPECT_FALSE(read_player(std::string(player_file_limit + 1, '#'), "p"));
  EXPECT_FALSE(read_player("version = 1\n[seconds]\none_knob = nan\n", "p"));
  EXPECT_FALSE(read_player("version = 1\n[hands]\ncomfortable = 14\nmost = 12\n", "p"));
}

}  // namespace
}  // namespace calcant
