// Composition pedals of the invented village organ: what its organ file says one press leaves drawn, and the demo voluntary,
// in which neither hand rests before bar 26 and the right foot does (the pedal holds A under the left).
#include "engine/plan/composition.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "engine/plan/check_music.hpp"
#include "engine/plan/piece.hpp"
#include "files/musicxml/musicxml.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

TEST(Composition, LeavesDrawnWhatTheOrganFileSays) {
  const Organ organ = read_organ_folder("demo/village")->organ;
  const auto pedals = compositions(organ);
  ASSERT_EQ(pedals.size(), 3U);
  EXPECT_EQ(organ.accessories[static_cast<std::size_t>(pedals[0].accessory)].id, "gt-piano");
  Registration r;
  for (const char* id : {"gt-open", "gt-fifteenth", "sw-oboe"})
    r.stops.set(static_cast<std::size_t>(*stop_by_id(organ, id)));
  Registration wanted;
  for (const char* id : {"gt-clarabella", "gt-dulciana", "sw-oboe"})
    wanted.stops.set(static_cast<std::size_t>(*stop_by_id(organ, id)));
  EXPECT_EQ(pedals[0].pressed(r), wanted);
}

TEST(Composition, OneThatDrawsAStopOutOfUseOrOfAnotherDivisionIsLeft) {
  Organ organ = read_organ_folder("demo/village")->organ;
  organ.stops[static_cast<std::size_t>(*stop_by_id(organ, "gt-dulciana"))].out_of_use = true;
  EXPECT_EQ(compositions(organ).size(), 2U);
  for (Accessory& a : organ.accessories) {
    if (a.id == "sw-forte") a.draws.emplace_back("gt-open");
  }
  EXPECT_EQ(compositions(organ).size(), 1U);
}

TEST(Composition, AFootPressesItWhereNoHandIsFree) {
  const Organ organ = read_organ_folder("demo/village")->organ;
  std::ifstream in("demo/village/music/voluntary-in-d.musicxml", std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  const Score score = read_musicxml(text.str(), "voluntary").value();
  const Listening listening(organ, usual_condition(organ));
  Plan plan;
  Piece piece;
  piece.title = "Voluntary";
  const Player player = default_player();
  ASSERT_TRUE(plan_piece(plan, organ, listening, score, piece, player, {}, {}));
  const Tempo tempo(score, piece.fallback_quarters_per_minute, piece.tempo);
  EXPECT_THAT(check_piece(organ, plan, 0, score, tempo, player), testing::IsEmpty());
  Cue* press = nullptr;
  for (Cue& c : plan.cues) {
    EXPECT_NE(c.mover, Mover::helper) << c.why;
    if (c.mover == Mover::foot && !c.draw.empty()) press = &c;
  }
  ASSERT_NE(press, nullptr);
  EXPECT_THAT(press->why, testing::HasSubstr("composition pedal"));
  ASSERT_TRUE(press->pressed);  // which of the three
  EXPECT_THAT(press->why, testing::HasSubstr(organ.accessories[static_cast<std::size_t>(*press->pressed)].name));
  // A pedal draws all of its stops.
  press->draw.pop_back();
  EXPECT_THAT(check_piece(organ, plan, 0, score, tempo, player),
              testing::Contains(testing::HasSubstr("no composition pedal does this")));
}

}  // namespace
}  // namespace calcant
