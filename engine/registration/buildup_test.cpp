// A build-up as the issue wants it: audible steps on chords the search did not use, foundations first, no celeste, and
// compared with the usual orders by the same measure.
#include "engine/registration/buildup.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/registration/choose_test.hpp"

namespace calcant {
namespace {

struct Built {
  Chooser chooser;
  BuildUpReport report;
};

Result<Built> built(const ChurchOrgan& church, int steps, Registration must_not = {}) {
  auto chooser = Chooser::prepare(church.nave, church.on, {}, fewer_stops(church.organ, church.on, {}), Work{2});
  if (!chooser) return tl::unexpected(chooser.error());
  const auto range = chooser->range(Manner::chorus, Work{});
  if (!range) return tl::unexpected(range.error());
  BuildUpWish wish;
  wish.from = range->low;
  wish.to = range->high;
  wish.steps = steps;
  wish.must_not = must_not;
  auto report = build_up(*chooser, wish, Work{2});
  if (!report) return tl::unexpected(report.error());
  return Built{std::move(*chooser), std::move(*report)};
}

void is_a_crescendo(const ChurchOrgan& church, const Built& b) {
  ChordEar proof{church.nave, proof_chords(church.organ, church.on)};
  const auto& steps = b.report.best.steps;
  double largest = 0;
  double smallest = 1e9;
  for (std::size_t i = 0; i < steps.size(); ++i) {
    SCOPED_TRACE(registration_text(church.organ, steps[i].drawn));
    EXPECT_NEAR(steps[i].phons, proof.hear(steps[i].drawn).phons, 1e-9);
    const auto state = b.chooser.space().state(steps[i].drawn);
    ASSERT_TRUE(state);
    EXPECT_TRUE(b.chooser.practice().allows(state->linking, state->stops, Manner::chorus));
    EXPECT_EQ(state->stops & b.chooser.practice().celestes(), 0U);
    const auto& positions = b.chooser.boxes();
    EXPECT_NE(std::find(positions.begin(), positions.end(), steps[i].drawn.box), positions.end());
    if (i == 0) continue;
    const double louder = steps[i].phons - steps[i - 1].phons;
    EXPECT_GE(louder, 1.0);
    EXPECT_GE(proof.least(steps[i - 1].drawn, steps[i].drawn), Difference::audible);
    largest = std::max(largest, louder);
    smallest = std::min(smallest, louder);
  }
  EXPECT_NEAR(b.report.best.evenness, largest / smallest, 1e-9);
}

TEST(BuildUp, OfTheVillageIsEvenerThanTheUsualOrders) {
  const ChurchOrgan village{"demo/village", "great"};
  const auto b = built(village, 10);
  ASSERT_TRUE(b) << sentence(b.error());
  EXPECT_EQ(b->report.best.steps.size(), 10U);
  is_a_crescendo(village, *b);
  EXPECT_EQ(b->report.others.size(), 2U);
  for (const BuildUp& other : b->report.others) EXPECT_LT(b->report.best.evenness, other.evenness) << other.name;
  EXPECT_LT(b->report.best.evenness, 2.0);
  EXPECT_LE(b->report.best.knobs, 3.0);
}

TEST(BuildUp, OfTheChapelHasAsManyStepsAsThereAre) {
  const ChurchOrgan chapel{"demo/chapel", "manual"};
  const auto b = built(chapel, 20);
  ASSERT_TRUE(b) << sentence(b.error());
  EXPECT_LT(b->report.best.steps.size(), 20U);
  EXPECT_GE(b->report.best.steps.size(), 4U);
  EXPECT_EQ(b->report.asked, 20);
  is_a_crescendo(chapel, *b);
}

// A little organ has nothing within a phon of 78: the series begins at the nearest there is, and says so.
TEST(BuildUp, BeginsAtTheNearestLevelThereIs) {
  const ChurchOrgan chapel{"demo/chapel", "manual"};
  auto chooser = Chooser::prepare(chapel.nave, chapel.on, {}, {}, Work{});
  ASSERT_TRUE(chooser);
  BuildUpWish wish;
  wish.from = Phons{60};
  wish.to = Phons{120};
  const auto report = build_up(*chooser, wish, Work{});
  ASSERT_TRUE(report) << report.error().message;
  EXPECT_GT(report->from, Phons{70});
  EXPECT_LT(report->to, Phons{95});
  ASSERT_GE(report->best.steps.size(), 4U);
  EXPECT_TRUE(report->best.every_step_heard);
  EXPECT_EQ(report->best.steps.front().drawn.stops.count(), 1U);
}

TEST(BuildUp, RefusesInWords) {
  const ChurchOrgan chapel{"demo/chapel", "manual"};
  EXPECT_FALSE(built(chapel, 1));
  auto chooser = Chooser::prepare(chapel.nave, chapel.on, {}, {}, Work{});
  ASSERT_TRUE(chooser);
  BuildUpWish wish;
  wish.from = Phons{70};
  wish.to = Phons{60};
  EXPECT_FALSE(build_up(*chooser, wish, Work{}));
  wish.from = Phons{100};
  wish.to = Phons{110};
  const auto none = build_up(*chooser, wish, Work{});
  ASSERT_FALSE(none);
  EXPECT_NE(none.error().message.find("no two registrations"), std::string::npos);
}

// Swell to Great comes in R4 after the Principal; from the start in the other.
TEST(BuildUp, TheUsualOrdersAsTheyAreTaught) {
  const ChurchOrgan village{"demo/village", "great"};
  const auto usual = usual_order(village.organ, village.on, false);
  const std::vector<std::string> first_five{"Dulciana 8", "Clarabella 8, Dulciana 8",
                                            "Open Diapason 8, Clarabella 8, Dulciana 8"};
  ASSERT_GE(usual.size(), 8U);
  for (std::size_t i = 0; i < first_five.size(); ++i) EXPECT_EQ(usual[i].stops, village.draw(first_five[i]).stops);
  const auto with_swell = usual_order(village.organ, village.on, true);
  ASSERT_GE(with_swell.size(), 8U);
  EXPECT_TRUE(with_swell.front().couplers.test(static_cast<std::size_t>(*coupler_by_id(village.organ, "sw-gt"))));
  EXPECT_EQ(with_swell.front().box[0], 0);
  EXPECT_EQ(with_swell[2].box[0], 1);
  const ChurchOrgan chapel{"demo/chapel", "manual"};
  EXPECT_TRUE(usual_order(chapel.organ, chapel.on, true).empty());
}

}  // namespace
}  // namespace calcant
