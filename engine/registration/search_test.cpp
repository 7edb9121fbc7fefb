// The search that stands in for a map on a large organ: against whole maps of organs cut from it; its answers allowed, the
// same on any number of threads; how far it is, and stopped.
#include "engine/registration/search.hpp"

#include <gtest/gtest.h>

#include "engine/registration/search_check.hpp"
#include "engine/registration/small_organs_test.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

const Organ& town() {
  static const Organ organ = read_organ_folder("demo/town")->organ;
  return organ;
}

// A smaller sample of what `registration_bench --benchmark_filter=search_gap/200` does on 200 organs.
TEST(SearchSlow, StaysHalfAPhonOrTwoPercentBehindEveryRegistration) {
  const SearchCheck check = check_search(town(), 8, 6, 11);
  EXPECT_GT(check.organs, 6);
  EXPECT_GT(check.wishes, 20);
  EXPECT_EQ(check.missed, 0) << check.at;
  EXPECT_EQ(check.ahead, 0) << "a map's answer is not the best";
  EXPECT_LE(check.worst_phons, 0.5) << check.at;
  EXPECT_LE(check.worst_share, 0.02) << check.at;
  EXPECT_EQ(check.over_bound, 0) << "points_at_least is no bound";
}

struct LargeOrgan {
  LargeOrgan() : nave(town(), usual_condition(town())), chooser(*Chooser::prepare(nave, 0, {}, {}, Work{2})) {}
  Listening nave;
  Chooser chooser;
};
LargeOrgan& great() {
  static LargeOrgan organ;
  return organ;
}

// Also where brightness brings the points far below nothing.
TEST(SearchSlow, AnswersAreAllowed) {
  for (const Colour colour : {Colour::any, Colour::darker, Colour::brighter}) {
    Wish wish;
    wish.level = Phons{80};
    wish.colour = colour;
    const auto choice = great().chooser.ask(wish, Work{2});
    ASSERT_TRUE(choice) << sentence(choice.error());
    EXPECT_TRUE(choice->searched);
    for (const Chosen& c : choice->answers) {
      const auto points = great().chooser.judge(wish, c.drawn);
      ASSERT_TRUE(points) << sentence(points.error());
      EXPECT_NEAR(points->sum(), c.points.sum(), 1e-9);
      EXPECT_GE(points->sum(), choice->at_least);
    }
  }
}

TEST(Search, IsTheSameOnOneThreadAndTwoAndTellsAndStops) {
  Random random{3, 1};
  const CutOrgan cut = cut_organ(town(), random);
  const Listening nave{cut.organ, usual_condition(cut.organ)};
  const auto space = Space::make(cut.organ, stated_chords(cut.organ, cut.on));
  ASSERT_TRUE(space);
  const PointsOf near_75 = [](const Space::State& s, std::size_t, const MapFigures& f) {
    return std::abs(f.phons - 75.0) + std::popcount(s.stops);
  };
  SearchSettings settings;
  settings.starts = 30;
  std::vector<std::vector<double>> found;
  double told = 0;
  int times = 0;
  for (const int threads : {1, 2}) {
    auto search = Search::make(*space, nave, box_positions(cut.organ));
    ASSERT_TRUE(search);
    Work work{threads};
    work.progress = [&](double share, std::string_view) {
      EXPECT_TRUE(share >= 0 && share <= 1) << share;
      told = share;
      ++times;
    };
    const auto best = search->best(near_75, settings, work);
    ASSERT_TRUE(best);
    EXPECT_EQ(told, 1);
    found.emplace_back();
    for (const SearchState& s : *best) {
      found.back().insert(found.back().end(), {static_cast<double>(s.state.linking), static_cast<double>(s.state.stops),
                                               static_cast<double>(s.box), s.points, s.figures.phons});
    }
  }
  EXPECT_GT(times, 30);
  EXPECT_GT(found[0].size(), 100U);
  EXPECT_EQ(found[0], found[1]);

  auto search = Search::make(*space, nave, box_positions(cut.organ));
  std::stop_source stop;
  Work work{1, stop.get_token()};  // on two threads the other may be done before it is told
  work.progress = [&](double, std::string_view) { stop.request_stop(); };
  const auto stopped = search->best(near_75, settings, work);
  ASSERT_FALSE(stopped);
  EXPECT_NE(stopped.error().message.find("stopped"), std::string::npos);
  EXPECT_FALSE(Search::make(*space, nave, {}));
}

// On invented organs where stops share ranks: with knobs that must and must not be drawn, what stands for all that sound alike
// is often not what does where everything is free.
TEST(Search, FindsTheFewestKnobsWithinWhatMustAndMustNotBeDrawn) {
  Random random{8, 0};
  int others = 0;
  for (int organs = 0; organs < 25; ++organs) {
    const Organ organ = small_organ(random);
    const Listening nave{organ, usual_condition(organ)};
    std::vector<KeysDown> chords(1);
    chords[0].keys[0] = NoteSet::range(48, 49);
    const auto space = Space::make(organ, chords);
    if (!space) continue;
    const StopMask all = (StopMask{1} << space->stops().size()) - 1;
    const StopMask must = StopMask{1} << random.below(4) & all;
    const StopMask must_not = StopMask{1} << random.below(4) & all & ~must;
    const std::vector<bool> linkings(space->linkings().size(), true);
    const Equals equals{*space, must, must_not, linkings};
    const auto knobs = [&](const Space::State& s) {
      return space->linkings()[s.linking].knobs + std::popcount(s.stops);
    };
    const PointsOf points = [&](const Space::State& s, std::size_t, const MapFigures& f) {
      const bool within = (must & ~s.stops) == 0 && (must_not & s.stops) == 0;
      return std::abs(f.phons - 70.0) + knobs(s) + (within ? 0 : unfit);
    };
    auto search = Search::make(*space, nave, box_positions(organ));
    ASSERT_TRUE(search);
    std::optional<double> best;
    for (std::size_t l = 0; l < space->linkings().size(); ++l) {
      for (StopMask m = 1; m <= all; ++m) {
        if (!equals.stands({l, m})) continue;
        for (std::size_t b = 0; b < search->boxes().size(); ++b) {
          const double here = points({l, m}, b, search->figures({l, m}, b));
          if (!best || here < *best) best = here;
        }
      }
    }
    if (!best) continue;
    SearchSettings settings;
    settings.starts = 60;
    settings.equals = &equals;
    const auto found = search->best(points, settings, Work{1});
    ASSERT_TRUE(found);
    ASSERT_FALSE(found->empty());
    EXPECT_NEAR(found->front().points, *best, 1e-6);
    for (const SearchState& s : *found) {
      EXPECT_TRUE(equals.stands(s.state));
      others += space->canonical(s.state.linking, s.state.stops) ? 0 : 1;
    }
  }
  EXPECT_GT(others, 20);
}

}  // namespace
}  // namespace calcant
