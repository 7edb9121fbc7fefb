// Claims about levels whose truth is known without drawing.
#include "jobs/level_holds.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "jobs/registrant.hpp"

namespace calcant {
namespace {

constexpr double far = std::numeric_limits<double>::infinity();

class LevelHolds : public testing::Test {
 protected:
  HeardThere there(const char* id) const {
    HeardThere out;
    out.drawn.stops.set(static_cast<std::size_t>(*stop_by_id(context_.organ, id)));
    KeysDown down;
    for (const int key : {60, 64, 67}) down.keys[0].insert(key);
    out.chords = {down};
    return out;
  }
  double holds_in(const LevelClaim& claim) {
    const auto share = level_holds(draws_, claim, Work{});
    EXPECT_TRUE(share);
    return share ? *share : -1;
  }
  OrganContext context_ = std::move(*open_organ("demo/chapel"));
  Listening listening_{context_.organ, context_.condition};
  LevelDraws draws_{listening_, 200};
};

TEST_F(LevelHolds, WhatMustBeTrueAndWhatCannotBe) {
  const std::string first = context_.organ.stops[0].id;
  LevelClaim claim{there(first.c_str()), {}, {}, -far, far, ""};
  EXPECT_EQ(holds_in(claim), 1.0);
  claim.least = 130;
  EXPECT_EQ(holds_in(claim), 0.0);
  // As loud as itself, whatever the levels.
  claim = {there(first.c_str()), there(first.c_str()), {}, -0.001, 0.001, ""};
  EXPECT_EQ(holds_in(claim), 1.0);
  // Half of what is normal lies above its middle: between a half and a little more or less of 200 draws (3 standard errors).
  claim = {there(first.c_str()), {}, {}, 0, far, ""};
  Ear ear;
  PipeSet pipes;
  Sounding{context_.organ}.pipes(claim.of.drawn, claim.of.chords[0], pipes);
  claim.least = ear.hear(listening_.lines(pipes, claim.of.drawn))->loudness.phons.value();
  EXPECT_NEAR(holds_in(claim), 0.5, 3 * 0.5 / std::sqrt(200.0));
}

TEST_F(LevelHolds, SaysItWithoutPercentages) {
  LevelClaim claim;
  claim.words = "louder";
  EXPECT_EQ(level_verdict(claim, 0.89), "whether it is louder depends on assumed levels");
  EXPECT_NE(level_verdict(claim, 0.9).find("holds"), std::string::npos);
}

// Every answer of a purpose carries it, where levels are varied, and none where they are not.
TEST(LevelHoldsInChoose, EveryAnswerSaysWhetherItsLevelHolds) {
  const auto context = std::make_shared<const OrganContext>(std::move(*open_organ("demo/chapel")));
  Registrant registrant{context};
  for (const char* level : {"soft", "full", "enough for 40", "a shade more than Stopped Diapason 8", "louder"}) {
    SCOPED_TRACE(level);
    ChooseRequest r;
    r.level = level;
    if (r.level == "louder") r.from = "Stopped Diapason 8";
    r.limit = 3;
    r.draws = 40;
    const auto found = registrant.choose(r, Work{});
    ASSERT_TRUE(found) << found.error().message;
    for (const ChoiceShown& a : found->answers) {
      ASSERT_TRUE(a.level_holds);
      EXPECT_TRUE(*a.level_holds >= 0 && *a.level_holds <= 1);
      EXPECT_NE(std::find(a.reasons.begin(), a.reasons.end(), level_verdict(a.claim, *a.level_holds)), a.reasons.end());
    }
    const std::string json = json_text(*context, *found);
    EXPECT_NE(json.find("\"level_holds\""), std::string::npos);
    r.draws = 0;
    EXPECT_EQ(json_text(*context, *registrant.choose(r, Work{})).find("level_holds"), std::string::npos);
  }
}

}  // namespace
}  // namespace calcant
