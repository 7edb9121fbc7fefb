// The search against every path there is.
#include "engine/plan/search.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <limits>

#include "engine/plan/hymn.hpp"
#include "engine/plan/objective.hpp"
#include "engine/quantity/random.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

using Own = std::function<double(std::size_t, std::size_t)>;
using StepCost = std::function<double(std::size_t, std::size_t, std::size_t)>;

double of(const std::vector<std::size_t>& path, const Own& own, const StepCost& step) {
  double cost = 0;
  for (std::size_t s = 0; s < path.size(); ++s) cost += own(s, path[s]) + (s > 0 ? step(s, path[s - 1], path[s]) : 0);
  return cost;
}

// Every path, one after the other.
double least_of_all(const std::vector<std::size_t>& sizes, const Own& own, const StepCost& step) {
  double best = std::numeric_limits<double>::infinity();
  std::vector<std::size_t> path(sizes.size());
  while (true) {
    best = std::min(best, of(path, own, step));
    std::size_t s = 0;
    while (s < path.size() && ++path[s] == sizes[s]) path[s++] = 0;
    if (s == path.size()) return best;
  }
}

TEST(CheapestPath, IsTheCheapestOfAllPaths) {
  int forbidden = 0;
  for (std::uint64_t seed = 0; seed < 3000; ++seed) {
    Random random(seed, 11);
    std::vector<std::size_t> sizes(1 + static_cast<std::size_t>(random.below(5)));
    for (std::size_t& n : sizes) n = 1 + static_cast<std::size_t>(random.below(5));
    // Few different costs make many ties; some choices and steps are forbidden.
    const auto cost = [&](std::uint64_t key) {
      Random r(seed, key);
      const int c = r.below(seed % 2 == 0 ? 6 : 1000);
      return seed % 3 == 0 && c % 5 == 4 ? std::numeric_limits<double>::infinity() : c / 4.0;
    };
    const Own own = [&](std::size_t s, std::size_t i) { return cost(1000 + s * 10 + i); };
    const StepCost step = [&](std::size_t s, std::size_t i, std::size_t j) {
      return cost(2000 + s * 100 + i * 10 + j);
    };
    const Cheapest found = cheapest_path(sizes, own, step);
    const double least = least_of_all(sizes, own, step);
    ASSERT_EQ(found.cost, least) << "seed " << seed;
    if (least == std::numeric_limits<double>::infinity()) ++forbidden;
    else ASSERT_DOUBLE_EQ(of(found.path, own, step), least) << "seed " << seed;
  }
  EXPECT_GT(forbidden, 10);
}

// The same with kinds: what goes between kinds, and what is beyond it, against every path.
TEST(CheapestPath, OfKindsIsTheCheapestOfAllPaths) {
  for (std::uint64_t seed = 0; seed < 3000; ++seed) {
    Random random(seed, 13);
    Stages c;
    c.sizes.resize(1 + static_cast<std::size_t>(random.below(4)));
    for (std::size_t& n : c.sizes) n = 1 + static_cast<std::size_t>(random.below(7));
    const std::size_t kinds = 1 + static_cast<std::size_t>(random.below(4));
    const auto cost = [&](std::uint64_t key, int most) {
      Random r(seed, key);
      const int n = r.below(most);
      return seed % 5 == 0 && n == 1 ? std::numeric_limits<double>::infinity() : n / 4.0;
    };
    c.own = [&](std::size_t s, std::size_t i) { return cost(1000 + s * 10 + i, 9); };
    c.kind = [&](std::size_t s, std::size_t i) { return (s * 7 + i * 3 + seed) % kinds; };
    c.between = [&](std::size_t s, std::size_t a, std::size_t b, double enough) {
      const double all = a == b ? 0 : cost(3000 + s * 100 + a * 10 + b, 7);
      return all >= enough ? enough : all;
    };
    c.step = [&](std::size_t s, std::size_t i, std::size_t j) { return cost(5000 + s * 100 + i * 10 + j, 4); };
    const StepCost whole = [&](std::size_t s, std::size_t i, std::size_t j) {
      return c.between(s, c.kind(s - 1, i), c.kind(s, j), std::numeric_limits<double>::infinity()) + c.step(s, i, j);
    };
    const Cheapest found = cheapest_path(c);
    const double least = least_of_all(c.sizes, c.own, whole);
    ASSERT_EQ(found.cost, least) << "seed " << seed;
    if (least < std::numeric_limits<double>::infinity()) {
      ASSERT_EQ(of(found.path, c.own, whole), least) << "seed " << seed;
    }
  }
}

// Three verses on the chapel organ: what the planner says it costs is the least over every way through its vocabulary, put
// together here anew from the objective's own words (docs/design/plan.md).
TEST(CheapestPath, HymnOnTheChapelOrganIsProvedByEveryWayThroughIt) {
  const auto folder = read_organ_folder("demo/chapel");
  ASSERT_TRUE(folder);
  const Organ& organ = folder->organ;
  const Listening listening(organ, usual_condition(organ));
  Hymn h;
  h.tune = "A tune";
  h.play_over = PlayOver::none;
  h.verses = {parse_verse("quiet"), parse_verse("full"), parse_verse("gentle")};
  const Player player = default_player();
  Plan plan;
  ASSERT_TRUE(plan_hymn(plan, organ, listening, h, player, {}, {}));

  Scales scales(listening, hymn_chords(h.tonic, h.minor, true, false));
  const auto shades = vocabulary(organ, scales, {}, Placing::together, {});
  ASSERT_TRUE(shades);
  ASSERT_LE(shades->size(), 120U);
  const SingersLevel singers = loudness(h.singers, scales);
  double low = std::numeric_limits<double>::infinity();
  double high = 0;
  for (const Shade& s : *shades) {
    if (s.against >= 1) continue;
    high = std::max(high, s.loudness.value());
    if (s.loudness >= singers.low) low = std::min(low, s.loudness.value());
  }
  const double shares[] = {0.15, 1.0, 0.15};  // quiet, full, gentle (plain_words.cpp)
  const auto target = [&](std::size_t v) { return low + shares[v] * (high - low); };
  const Own own = [&](std::size_t v, std::size_t i) {
    Aim a;
    a.share = shares[v];
    a.target = Phons{target(v)};
    a.floor = singers.low;
    a.led = true;
    return own_cost(a, (*shades)[i]);
  };
  const Jambs jambs(organ);
  const double quarter = 60.0 / 80;
  const StepCost step = [&](std::size_t v, std::size_t i, std::size_t j) {
    const Shade& a = (*shades)[i];
    const Shade& b = (*shades)[j];
    const KnobCount n = jambs.moved(a.drawn, b.drawn);
    double cost = step_cost(n, Step::between_sections, a.on != b.on) +
                  crossways_cost(a.drawn, b.drawn, target(v) - target(v - 1)) +
                  contrast_cost(target(v) - target(v - 1), (b.loudness - a.loudness).value());
    // The chapel's knobs are of unknown place: either hand. One has the last chord (two beats less the stroke) and the gap,
    // the other the gap.
    const Seconds gap{2 * quarter};
    const Seconds chord{(4 - 0.125) * quarter};
    const Seconds lacking =
        std::min(move_for(n, player, {chord, gap, gap}).lacking(), move_for(n, player, {gap, chord, gap}).lacking());
    if (n.all() > 0) cost += too_late_cost(lacking, Step::between_sections);
    return cost;
  };
  const std::vector<std::size_t> sizes(3, shades->size());
  EXPECT_NEAR(plan.items[0].search.cost, least_of_all(sizes, own, step), 1e-9);
  EXPECT_EQ(plan.items[0].search.choices, shades->size());
}

}  // namespace
}  // namespace calcant
