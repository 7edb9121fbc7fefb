// A piece on a small organ with a solo, a box and a helper or none: what the planner says it costs is the least over every way
// through its vocabulary, with the costs put together here anew from docs/design/plan.md.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <limits>
#include <set>

#include "engine/plan/changes.hpp"
#include "engine/plan/copy_becoming.hpp"
#include "engine/plan/objective.hpp"
#include "engine/plan/piece.hpp"
#include "engine/playing/by_hand_test.hpp"
#include "engine/playing/manuals.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

Organ small_village() {
  Organ o = read_organ_folder("demo/village")->organ;
  const std::set<std::string> kept{"gt-open", "gt-dulciana", "sw-gedackt", "sw-oboe"};
  for (Stop& s : o.stops) s.out_of_use = !kept.contains(s.id);
  return o;
}

struct Way {
  bool helper = false;
  bool copy = false;  // the copy names the Oboe for the solo
};

// Six bars; both on the Great (p), from bar 3 the right hand on the Swell as a solo (mf), from bar 5 both on the Great (f).
// The left hand rests for two crotchets before bar 3, the right for one before bar 5.
Score solo_in_the_middle(bool copy) {
  std::vector<by_hand::Played> notes;
  for (int q = 0; q < 24; ++q) {
    if (q != 15) notes.push_back({72 + q % 4, Rational{q}, Rational{1}, 0});
    if (q == 6 || q == 7) continue;
    notes.push_back({50 + q % 3, Rational{q}, Rational{1}, 1});
    notes.push_back({62 + q % 3, Rational{q}, Rational{1}, 1});
  }
  Score s = by_hand::score(notes, {Role::right_hand, Role::left_hand});
  const char* marks[] = {"p", "mf", "f"};
  for (int i = 0; i < 3; ++i) {
    by_hand::direct(s, Direction::Kind::dynamics, 2 * i, marks[i], -1);
    by_hand::direct(s, Direction::Kind::words, 2 * i, i == 1 ? (copy ? "Sw. Oboe" : "Sw.") : "Gt.", 0);
    by_hand::direct(s, Direction::Kind::words, 2 * i, "Gt.", 1);
  }
  return s;
}

class PieceSearch : public testing::TestWithParam<Way> {};

TEST_P(PieceSearch, IsProvedByEveryWayThrough) {
  const Organ organ = small_village();
  const Score score = solo_in_the_middle(GetParam().copy);
  const Listening listening(organ, usual_condition(organ));
  Player player = default_player();
  player.helper = GetParam().helper;
  Piece piece;
  piece.title = "By hand";
  piece.tempo = 60;
  Plan plan;
  ASSERT_TRUE(plan_piece(plan, organ, listening, score, piece, player, {}, {}));

  Scales scales(listening, sampled_chords(score, 6));
  const auto asks = copy_asks(score, organ, {});
  ASSERT_EQ(asks.size(), GetParam().copy ? 1U : 0U);
  const auto parts = passages(score, organ, {}, {}, asks);
  VocabularyWish wish;
  wish.feet = false;
  wish.become = becoming(organ, asks, parts);
  auto shades = vocabulary(organ, scales, wish, Placing::solo, {}).value();
  const auto together = vocabulary(organ, scales, wish, Placing::together, {}).value();
  shades.insert(shades.end(), together.begin(), together.end());
  ASSERT_LE(shades.size(), 200U);
  ASSERT_EQ(plan.items[0].search.choices, shades.size());
  ASSERT_EQ(parts.size(), 3U);
  double low = infinity;
  double high = 0;
  for (const Shade& s : shades) {
    if (s.against >= 1) continue;
    low = std::min(low, s.loudness.value());
    high = std::max(high, s.loudness.value());
  }
  const Tempo tempo(score, assumed_tempo, piece.tempo);
  Playing playing;
  playing.apart = OnKeyboards(score, organ).apart(score);
  const auto chance = chances(score, parts, windows(score, player, tempo, playing),
                              {{Rational{0}, performed_length(score)}}, player, tempo);
  const std::size_t n = shades.size();
  const double shares[] = {0.2, 0.55, 0.8};  // p, mf, f (verse.cpp)
  const auto target = [&](std::size_t p) { return low + shares[p] * (high - low); };
  std::vector<std::vector<double>> own(3);
  for (std::size_t p = 0; p < 3; ++p) {
    ASSERT_DOUBLE_EQ(parts[p].share, shares[p]);
    for (const Shade& s : shades) {
      Aim a;
      a.share = shares[p];
      a.target = Phons{target(p)};
      a.near_enough = GetParam().copy && p == 1 ? 4 : 1.5;
      a.unit = 2;
      a.led = shares[p] >= 0.7 && p != 1;
      a.right = parts[p].right;
      a.left = parts[p].left;
      own[p].push_back(own_cost(a, s));
      if (!GetParam().copy || p == 0) continue;
      // The Oboe, and nothing else of the Swell: 3 where it is printed, 0.5 where it stands.
      double left = 0;
      for (std::size_t i = 0; i < organ.stops.size(); ++i) {
        if (organ.stops[i].id == "sw-oboe") left += s.drawn.stops[i] ? 0 : 1;
        else if (organ.stops[i].id.rfind("sw-", 0) == 0 && s.drawn.stops[i]) left += 0.25;
      }
      own[p].back() += (p == 1 ? 3 : 0.5) * std::min(1.0, left);
    }
  }
  const Jambs jambs(organ);
  Sounding sounding(organ);
  const auto step = [&](std::size_t p, const Shade& a, const Shade& b) {
    const KnobCount moved = jambs.moved(a.drawn, b.drawn);
    const double rise = target(p) - target(p - 1);
    double cost = 0.2 * moved.all() + 0.1 * moved.boxes + (a.on != b.on ? 0.05 : 0) +
                  crossways_cost(a.drawn, b.drawn, rise) + contrast_cost(rise, (b.loudness - a.loudness).value());
    const int over = without_a_window(sorted_knobs(jambs, a.drawn, heeded(organ, sounding, a.drawn, a.on), b.drawn,
                                                   heeded(organ, sounding, b.drawn, b.on)),
                                      chance[p]);
    cost += (player.helper ? 0.4 : 10) * over;
    if (moved.boxes > 0 && chance[p].foot.seconds < player.foot_accessory.value) cost += 30;
    return cost;
  };
  std::vector<std::vector<double>> first(n, std::vector<double>(n));
  auto second = first;
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < n; ++j) {
      first[i][j] = own[0][i] == infinity || own[1][j] == infinity ? infinity : step(1, shades[i], shades[j]);
      second[i][j] = own[1][i] == infinity || own[2][j] == infinity ? infinity : step(2, shades[i], shades[j]);
    }
  }
  double least = infinity;
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < n; ++j) {
      for (std::size_t k = 0; k < n; ++k)
        least = std::min(least, own[0][i] + first[i][j] + own[1][j] + second[j][k] + own[2][k]);
    }
  }
  EXPECT_NEAR(plan.items[0].search.cost, least, 1e-9);
  const auto& sections = plan.items[0].sections;
  EXPECT_NE(sections[1].keyboards.right, sections[1].keyboards.left);
  EXPECT_EQ(sections[2].keyboards.right, sections[2].keyboards.left);
}
INSTANTIATE_TEST_SUITE_P(AloneAndWithAHelper, PieceSearch,
                         testing::Values(Way{false, false}, Way{true, false}, Way{false, true}, Way{true, true}));

}  // namespace
}  // namespace calcant
