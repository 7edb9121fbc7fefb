// What a build-up is: audible steps on chords the search did not use, foundations first on every manual,
// nothing put in, the boxes opening, and compared with the usual orders by the same measure.
#include "engine/registration/buildup.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "engine/registration/buildup_test.hpp"
#include "engine/registration/choose_test.hpp"

namespace calcant {
namespace {

struct Manual {
  Manual(const std::string& folder, const std::string& board) : church(folder, board) {
    auto made = Chooser::prepare(church.nave, church.on, {}, {}, Work{2});
    whole = std::make_unique<Chooser>(std::move(*made));
    frame = *build_up_frame(*whole, {}, {}, Work{2});
    if (whole->mapped()) return;
    auto less = Chooser::prepare(church.nave, church.on, {}, all_but(church.organ, frame), Work{2});
    framed = std::make_unique<Chooser>(std::move(*less));
  }
  Chooser& chooser() { return framed ? *framed : *whole; }
  BuildUpWish wish(int steps, double share = 0.2) {
    const auto range = whole->range(Manner::free, Work{2});
    BuildUpWish out;
    out.from = Phons{range->low.value() + share * (range->high - range->low).value()};
    out.to = Phons{whole->ear().hear(frame.full).phons};
    out.to_full = true;
    out.steps = steps;
    return out;
  }
  ChurchOrgan church;
  std::unique_ptr<Chooser> whole;
  std::unique_ptr<Chooser> framed;  // where the whole has no map
  BuildUpFrame frame;
};

bool has_all(const Registration& r, const Registration& of) {
  return (of.stops & ~r.stops).none() && (of.couplers & ~r.couplers).none();
}

// Whether a reed or a mixture of what is in this box is new.
bool big_stop_came(const Organ& organ, std::size_t box, const Registration& before, const Registration& now) {
  for (std::size_t s = 0; s < organ.stops.size(); ++s) {
    const auto in = organ.divisions[static_cast<std::size_t>(organ.stops[s].division)].box;
    if (now.stops.test(s) && !before.stops.test(s) && in && static_cast<std::size_t>(*in) == box &&
        (organ.stops[s].mixture_ranks != 0 || organ.stops[s].family == Family::reed)) {
      return true;
    }
  }
  return false;
}

void is_a_crescendo(Manual& manual, const BuildUp& b) {
  const Organ& organ = manual.church.organ;
  ChordEar proof{manual.church.nave, proof_chords(organ, manual.church.on)};
  double largest = 0;
  double smallest = 1e9;
  for (std::size_t i = 0; i < b.steps.size(); ++i) {
    const Registration& now = b.steps[i].drawn;
    SCOPED_TRACE(registration_text(organ, now));
    EXPECT_NEAR(b.steps[i].phons, proof.hear(now).phons, 1e-9);
    EXPECT_EQ(unfounded(organ, manual.frame, now, manual.church.on), "");
    EXPECT_TRUE(has_all(manual.frame.knobs, now));
    const auto& positions = manual.chooser().boxes();
    for (std::size_t x = 0; x < organ.boxes.size(); ++x) {
      EXPECT_TRUE(
          std::any_of(positions.begin(), positions.end(), [&](const BoxPositions& p) { return p[x] == now.box[x]; }));
    }
    if (i == 0) continue;
    const Registration& before = b.steps[i - 1].drawn;
    EXPECT_TRUE(has_all(now, before)) << "something was put in";
    for (std::size_t x = 0; x < organ.boxes.size(); ++x) {
      const bool spoke = std::any_of(organ.stops.begin(), organ.stops.end(), [&](const Stop& s) {
        const auto in = organ.divisions[static_cast<std::size_t>(s.division)].box;
        return in && static_cast<std::size_t>(*in) == x &&
               before.stops.test(static_cast<std::size_t>(&s - organ.stops.data()));
      });
      EXPECT_TRUE(!spoke || now.box[x] >= before.box[x] || big_stop_came(organ, x, before, now));
    }
    const double louder = b.steps[i].phons - b.steps[i - 1].phons;
    EXPECT_GE(louder, 1.0);
    EXPECT_GE(proof.least(before, now), Difference::audible);
    largest = std::max(largest, louder);
    smallest = std::min(smallest, louder);
  }
  EXPECT_NEAR(b.evenness, largest / smallest, 1e-9);
}

// Foundations first, a full organ last, and no more steps than asked: on every manual of the demo, few steps and many.
class BuildUpOf : public testing::TestWithParam<std::pair<const char*, const char*>> {};

TEST_P(BuildUpOf, IsFoundedAndLeadsToFull) {
  const auto [folder, board] = GetParam();
  Manual manual{folder, board};
  for (const int steps : {2, 3, 4, 10}) {
    SCOPED_TRACE(steps);
    const auto report = build_up(manual.chooser(), manual.frame, manual.wish(steps), Work{2});
    ASSERT_TRUE(report) << report.error().message;
    const auto& made = report->best.steps;
    EXPECT_TRUE(steps > 4 || made.size() == static_cast<std::size_t>(steps)) << made.size();
    EXPECT_LE(made.size(), static_cast<std::size_t>(steps));
    is_a_crescendo(manual, report->best);
    Registration full = manual.frame.full;
    full.stops &= manual.frame.knobs.stops;
    full.couplers &= manual.frame.knobs.couplers;
    EXPECT_TRUE(has_all(made.back().drawn, full)) << registration_text(manual.church.organ, made.back().drawn);
    EXPECT_NEAR(manual.whole->ear().hear(made.back().drawn).phons, manual.wish(steps).to.value(), 1.5);
    // Judged alike: the orders go from the same to the same, and are no evener.
    for (const BuildUp& o : report->others) {
      EXPECT_EQ(o.steps.front().drawn, made.front().drawn);
      EXPECT_EQ(o.steps.back().drawn, made.back().drawn);
      EXPECT_LE(report->best.evenness, o.evenness) << o.name;
    }
  }
}

std::string name_of(const testing::TestParamInfo<std::pair<const char*, const char*>>& info) {
  return std::string{info.param.first}.substr(std::string_view{"demo/"}.size()) + "_" + info.param.second;
}
INSTANTIATE_TEST_SUITE_P(Demo, BuildUpOf,
                         testing::Values(std::pair{"demo/chapel", "manual"}, std::pair{"demo/village", "swell"}),
                         name_of);
INSTANTIATE_TEST_SUITE_P(DemoSlow, BuildUpOf,
                         testing::Values(std::pair{"demo/village", "great"}, std::pair{"demo/town", "great"},
                                         std::pair{"demo/town", "swell"}, std::pair{"demo/town", "choir"}),
                         name_of);

TEST(BuildUp, OfTheVillageGreatHasTenSteps) {
  Manual village{"demo/village", "great"};
  const auto report = build_up(village.chooser(), village.frame, village.wish(10), Work{2});
  ASSERT_TRUE(report) << report.error().message;
  EXPECT_EQ(report->best.steps.size(), 10U);
  EXPECT_EQ(report->others.size(), 2U);
  EXPECT_LT(report->best.evenness, 3.0);
  EXPECT_LE(report->best.knobs, 2.0);
}

TEST(BuildUp, OfTheChapelHasAsManyStepsAsThereAre) {
  Manual chapel{"demo/chapel", "manual"};
  const auto report = build_up(chapel.chooser(), chapel.frame, chapel.wish(20, 0), Work{});
  ASSERT_TRUE(report) << report.error().message;
  EXPECT_LT(report->best.steps.size(), 20U);
  EXPECT_GE(report->best.steps.size(), 5U);
  EXPECT_EQ(report->asked, 20);
  is_a_crescendo(chapel, report->best);
}

// A little organ has nothing within a phon of 78: the series begins at the nearest there is, and says so.
TEST(BuildUp, BeginsAtTheNearestLevelThereIs) {
  Manual chapel{"demo/chapel", "manual"};
  BuildUpWish wish;
  wish.from = Phons{60};
  wish.to = Phons{120};
  const auto report = build_up(chapel.chooser(), chapel.frame, wish, Work{});
  ASSERT_TRUE(report) << report.error().message;
  EXPECT_GT(report->from, Phons{70});
  EXPECT_LT(report->to, Phons{95});
  ASSERT_GE(report->best.steps.size(), 4U);
  EXPECT_EQ(report->best.steps.front().drawn.stops.count(), 1U);
}

TEST(BuildUp, RefusesInWords) {
  Manual chapel{"demo/chapel", "manual"};
  EXPECT_FALSE(build_up(chapel.chooser(), chapel.frame, chapel.wish(1), Work{}));
  BuildUpWish wish;
  wish.from = Phons{70};
  wish.to = Phons{60};
  EXPECT_FALSE(build_up(chapel.chooser(), chapel.frame, wish, Work{}));
  // Beyond all there is.
  wish.from = Phons{100};
  wish.to = Phons{110};
  const auto none = build_up(chapel.chooser(), chapel.frame, wish, Work{});
  ASSERT_FALSE(none);
  EXPECT_NE(none.error().message.find("goes from 75 to 92 phon"), std::string::npos) << none.error().message;
}

// Of a large organ what full has comes first, then what it stands on and what begins softly.
TEST(BuildUp, TakesOfTheTownWhatFullHasFirst) {
  Manual town{"demo/town", "great"};
  EXPECT_TRUE(town.frame.left_out);
  EXPECT_LE(town.frame.knobs.stops.count(), 16U);
  const Registration wanted = town.church.draw(
      "Great: Dulciana 8, Great: Stopped Diapason 8, Great: Open Diapason I 8, Great: Octave 4, Great: Fifteenth 2, "
      "Great: Mixture III, Great: Trumpet 8, Swell: Mixture III, Swell: Cornopean 8, Swell to Great");
  EXPECT_TRUE(has_all(town.frame.knobs, wanted)) << registration_text(town.church.organ, town.frame.knobs);
  EXPECT_FALSE(town.chooser().boxes().empty());
}

// Swell to Great comes in R4 after the Principal; from the start in the other. Each box is shut as it comes in, then opened.
TEST(BuildUp, TheUsualOrdersAsTheyAreTaught) {
  const ChurchOrgan village{"demo/village", "great"};
  const Registration first = village.draw("Dulciana 8");
  Registration last = village.draw(
      "Open Diapason 8, Clarabella 8, Dulciana 8, Principal 4, Twelfth 2 2/3, Fifteenth 2, Lieblich Bourdon 16, Violin "
      "Diapason 8, Gemshorn 4, Mixture II, Oboe 8, Swell to Great");
  last.box[0] = 1;
  const auto usual = usual_order(village.organ, village.on, false, first, last);
  const std::vector<std::string> order{
      "Dulciana 8", "Clarabella 8", "Open Diapason 8", "Principal 4", "Swell to Great",     "",
      "",           "Fifteenth 2",  "Oboe 8",          "Mixture II",  "Lieblich Bourdon 16"};
  ASSERT_EQ(usual.size(), order.size());
  for (std::size_t i = 0; i < order.size(); ++i) {
    SCOPED_TRACE(i);
    const Registration more = order[i].empty() ? Registration{} : village.draw(order[i]);
    EXPECT_TRUE(has_all(usual[i], more));
    EXPECT_TRUE(order[i].empty() || i == 0 || !has_all(usual[i - 1], more));
  }
  EXPECT_EQ(usual[4].box[0], 0);
  EXPECT_FLOAT_EQ(usual[5].box[0], 0.4F);
  EXPECT_EQ(usual[6].box[0], 1);
  EXPECT_EQ(usual.back().stops, last.stops);
  const auto with_swell = usual_order(village.organ, village.on, true, first, last);
  ASSERT_EQ(with_swell.size(), usual.size());
  EXPECT_TRUE(has_all(with_swell[1], village.draw("Swell to Great")));
  EXPECT_EQ(with_swell[1].box[0], 0);
  EXPECT_EQ(with_swell[3].box[0], 1);
  const ChurchOrgan chapel{"demo/chapel", "manual"};
  EXPECT_TRUE(usual_order(chapel.organ, chapel.on, true, {}, {}).empty());
}

}  // namespace
}  // namespace calcant
