// What is kept changes no answer.
#include "jobs/registrant.hpp"

#include <gtest/gtest.h>

#include "files/words/words.hpp"

namespace calcant {
namespace {

std::shared_ptr<const OrganContext> opened(const std::string& folder) {
  auto context = open_organ(folder);
  EXPECT_TRUE(context) << context.error().message;
  return std::make_shared<const OrganContext>(std::move(*context));
}

ChooseRequest level(const std::string& words, Colour colour = Colour::any, const std::string& must_not = {}) {
  ChooseRequest r;
  r.level = words;
  r.colour = colour;
  r.must_not = must_not;
  r.limit = 4;
  return r;
}

std::string told(Registrant& registrant, const ChooseRequest& request, const Work& work = {}) {
  const auto answer = registrant.choose(request, work);
  return answer ? json_text(registrant.context(), *answer) : answer.error().message;
}

// Each wish of a registrant who was asked all the others before, against one who was asked nothing: the same bytes.
void same_as_fresh(const std::shared_ptr<const OrganContext>& context, const std::vector<ChooseRequest>& wishes) {
  Registrant kept{context};
  for (const ChooseRequest& w : wishes) EXPECT_FALSE(told(kept, w).empty());
  for (const ChooseRequest& w : wishes) {
    SCOPED_TRACE(w.level + w.solo + " not " + w.must_not);
    Registrant fresh{context};
    EXPECT_EQ(told(kept, w), told(fresh, w));
  }
}

TEST(Registrant, AnswersAsIfAskedForTheFirstTime) {
  ChooseRequest louder = level("louder");
  louder.from = "Open Diapason 8";
  ChooseRequest wrong = level("sofd");
  same_as_fresh(opened("demo/chapel"), {level("soft"), level("loud", Colour::darker), louder,
                                        level("full", Colour::any, "Fifteenth 2"), level("enough for 40"), wrong});
}

TEST(RegistrantSlow, AnswersAsIfAskedForTheFirstTimeInTheVillage) {
  ChooseRequest solo;
  solo.solo = "Swell: Oboe 8";
  solo.under = "Great";
  solo.limit = 3;
  ChooseRequest swell = level("soft");
  swell.on = "Swell";
  same_as_fresh(opened("demo/village"), {level("soft"), solo, level("moderate", Colour::brighter, "Clarabella 8"),
                                         swell, level("enough for 40")});
}

// What a player means by it (common practice, no source): the chorus up to its top, the reeds, no celeste.
TEST(RegistrantSlow, FullInTheTownIsEverythingThatIsHeard) {
  const auto context = opened("demo/town");
  Registrant registrant{context};
  ChooseRequest r = level("full");
  r.on = "Great";
  const auto found = registrant.choose(r, Work{2});
  ASSERT_TRUE(found) << found.error().message;
  const Registration& first = found->answers.front().drawn;
  SCOPED_TRACE(registration_text(context->organ, first));
  EXPECT_EQ(found->answers.front().reasons.front().find("everything that is heard"), 0U);
  for (const Knob k : knobs(context->organ, first)) {
    EXPECT_FALSE(k.kind == Knob::Kind::stop && context->organ.stops[static_cast<std::size_t>(k.index)].celeste);
  }
  // The chorus of the manual itself is there from 8 ft to its top.
  for (const char* id : {"gt-open-diapason-i", "gt-octave", "gt-mixture", "gt-trumpet"}) {
    const auto stop = stop_by_id(context->organ, id);
    EXPECT_TRUE(stop && first.stops.test(static_cast<std::size_t>(*stop))) << id;
  }
  // With a colour it is still a full organ: no octave couplers, however bright they are.
  r.colour = Colour::brighter;
  const auto brighter = registrant.choose(r, Work{2});
  ASSERT_TRUE(brighter) << brighter.error().message;
  const Registration beyond = beyond_full(context->organ);
  for (const ChoiceShown& a : brighter->answers) {
    SCOPED_TRACE(registration_text(context->organ, a.drawn));
    EXPECT_TRUE((a.drawn.stops & beyond.stops).none() && (a.drawn.couplers & beyond.couplers).none());
    EXPECT_NEAR(a.phons, found->answers.front().phons, 2);
  }
}

TEST(Registrant, BuildsUpAfterWishesAsBefore) {
  const auto context = opened("demo/chapel");
  BuildUpRequest request;
  request.from = "very soft";
  request.steps = 4;
  Registrant fresh{context};
  const auto first = fresh.build_up(request, {});
  ASSERT_TRUE(first) << first.error().message;
  Registrant kept{context};
  EXPECT_FALSE(told(kept, level("soft")).empty());
  const auto later = kept.build_up(request, {});
  ASSERT_TRUE(later);
  EXPECT_EQ(json_text(*context, *first), json_text(*context, *later));
}

// Soft and full mean the same for one registration and for a series: it ends with all that full has.
TEST(Registrant, BuildsUpBetweenTheLevelsThatAreChosen) {
  const auto context = opened("demo/village");
  for (const char* on : {"Great", "Swell"}) {
    SCOPED_TRACE(on);
    Registrant registrant{context};
    ChooseRequest asked;
    asked.on = on;
    asked.level = "full";
    asked.limit = 1;
    asked.draws = 0;
    const auto full = registrant.choose(asked, {});
    ASSERT_TRUE(full) << full.error().message;
    asked.level = "soft";
    const auto soft = registrant.choose(asked, {});
    ASSERT_TRUE(soft) << soft.error().message;
    BuildUpRequest request;
    request.on = on;
    request.steps = 6;
    const auto built = registrant.build_up(request, {});
    ASSERT_TRUE(built) << built.error().message;
    const Registration& last = built->report.best.steps.back().drawn;
    const Registration& all = full->answers.front().drawn;
    EXPECT_TRUE((all.stops & ~last.stops).none() && (all.couplers & ~last.couplers).none());
    EXPECT_NEAR(built->report.to.value(), full->answers.front().phons, 1);
    EXPECT_NEAR(built->report.from.value(), soft->answers.front().phons, 2);
  }
}

// With few steps many knobs move, and it is said; no manual is refused.
TEST(Registrant, BuildsUpInFewSteps) {
  const auto context = opened("demo/village");
  Registrant registrant{context};
  BuildUpRequest request;
  for (const int steps : {2, 3}) {
    request.steps = steps;
    const auto built = registrant.build_up(request, {});
    ASSERT_TRUE(built) << built.error().message;
    EXPECT_EQ(built->report.best.steps.size(), static_cast<std::size_t>(steps));
    EXPECT_NE(built->remarks.find("knobs at once"), std::string::npos) << built->remarks;
  }
}

// Stopped before anything was weighed, the same wish is answered afterwards.
TEST(Registrant, IsAskedAgainAfterAStop) {
  Registrant registrant{opened("demo/chapel")};
  std::stop_source stop;
  stop.request_stop();
  EXPECT_NE(told(registrant, level("soft"), Work{1, stop.get_token()}).find("stopped"), std::string::npos);
  Registrant fresh{opened("demo/chapel")};
  EXPECT_EQ(told(registrant, level("soft")), told(fresh, level("soft")));
}

}  // namespace
}  // namespace calcant
