// The search against brute force: every way of taking a short line is written out and its cost counted from the whole
// history by a second, plain reading of the cost model in feet_cost.hpp, which knows no states and forgets nothing it
// need not.
#include "engine/playing/feet_search.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "engine/quantity/random.hpp"

namespace calcant {
namespace {

std::vector<PedalNote> random_line(Random& random, int n, bool chords) {
  std::vector<PedalNote> notes;
  Rational t;
  for (int i = 0; i < n; ++i) {
    PedalNote p;
    const int near = notes.empty() ? 50 : notes.back().key.midi;
    p.key = Note{std::clamp(near + random.below(9) - 4 + (random.below(4) == 0 ? random.below(13) - 6 : 0), 36, 65)};
    p.start = t;
    const Rational length{1 + random.below(3), 2};
    p.end = t + length;
    if (chords && random.below(3) == 0) p.end += Rational{1};  // overlaps what follows
    t += length;
    if (random.below(4) == 0) t += Rational{1 + random.below(8)};
    p.from = Seconds{p.start.to_double()};
    p.to = Seconds{p.end.to_double()};
    p.left_free = random.below(10) != 0;
    p.right_free = random.below(10) != 0;
    notes.push_back(p);
  }
  return notes;
}

// The plain reading, for lines of one note at a time and no changes on held keys.
double plain_cost(const std::vector<PedalNote>& notes, const FeetRules& rules, const std::vector<FeetChoice>& c) {
  const auto w = [&](FeetTerm t) { return rules.weights[static_cast<std::size_t>(t)]; };
  double sum = 0;
  for (std::size_t i = 0; i < notes.size(); ++i) {
    const double x = rules.board.across(notes[i].key);
    const bool left = c[i].foot == Foot::left;
    if (c[i].part == FootPart::heel) sum += w(FeetTerm::heel);
    sum += w(FeetTerm::side) * std::max(0.0, left ? x : -x);
    if (left ? !notes[i].left_free : !notes[i].right_free) sum += w(FeetTerm::not_free);
    int own = -1;
    int other = -1;
    for (int j = 0; j < static_cast<int>(i); ++j) {
      const std::size_t k = static_cast<std::size_t>(j);
      // A foot is forgotten once it has been free for so long at the beginning of some later note.
      bool forgotten = false;
      for (std::size_t l = k + 1; l <= i; ++l) forgotten |= notes[l].from - notes[k].to > rules.forget;
      (c[k].foot == c[i].foot ? own : other) = forgotten ? -1 : j;
    }
    if (own >= 0) {
      const PedalNote& o = notes[static_cast<std::size_t>(own)];
      const FootPart before = c[static_cast<std::size_t>(own)].part;
      const double xo = rules.board.across(o.key);
      const int semitones = std::abs(o.key.midi - notes[i].key.midi);
      if (o.end == notes[i].start) {
        if (semitones == 0) {
          if (before != c[i].part) sum += w(FeetTerm::other_part);
        } else if (before != c[i].part && semitones <= rules.foot_span) {
          sum += w(FeetTerm::third) * std::max(0, semitones - 2);
          const double toe = c[i].part == FootPart::toe ? x : xo;
          const double heel = c[i].part == FootPart::toe ? xo : x;
          sum += w(FeetTerm::twist) * std::max(0.0, left ? toe - heel : heel - toe);
        } else if (before == c[i].part && semitones <= 2) {
          sum += w(FeetTerm::slide);
        } else {
          sum += w(FeetTerm::lift) + w(FeetTerm::lift_far) * std::abs(x - xo);
        }
      } else if (semitones != 0 || before != c[i].part) {
        if (other < own) sum += w(FeetTerm::hop);
        const double idle = (notes[i].from - o.to).value();
        sum += w(FeetTerm::travel) * std::abs(x - xo);
        sum += w(FeetTerm::hurry) * std::max(0.0, std::abs(x - xo) - 8.0 * idle);
      }
    }
    if (other >= 0) {
      const PedalNote& o = notes[static_cast<std::size_t>(other)];
      const double xo = rules.board.across(o.key);
      const bool touching = o.end == notes[i].start;
      if (touching && o.key == notes[i].key) sum += w(FeetTerm::other_foot);
      const double over = left ? x - xo : xo - x;
      const double fade = touching ? 1.0 : std::clamp(1.0 - (notes[i].from - o.to).value(), 0.0, 1.0);
      if (over > 0) sum += w(FeetTerm::cross) * fade * (1 + over / 2);
    }
  }
  return sum;
}

double cheapest_by_force(const std::vector<PedalNote>& notes, const FeetRules& rules, std::vector<FeetChoice>& so_far) {
  if (so_far.size() == notes.size()) return plain_cost(notes, rules, so_far);
  double least = std::numeric_limits<double>::infinity();
  for (const Foot f : {Foot::left, Foot::right}) {
    for (const FootPart p : {FootPart::toe, FootPart::heel}) {
      if (p == FootPart::heel && is_sharp(notes[so_far.size()].key)) continue;
      so_far.push_back({f, p, FeetChoice::Change::none});
      least = std::min(least, cheapest_by_force(notes, rules, so_far));
      so_far.pop_back();
    }
  }
  return least;
}

TEST(FeetSearch, FindsTheCheapestWayOfEveryShortLine) {
  Random random(4, 1);
  FeetRules rules;
  rules.long_enough_to_change = Seconds{1000};
  for (int trial = 0; trial < 60; ++trial) {
    const std::vector<PedalNote> notes = random_line(random, 6, false);
    std::vector<FeetChoice> so_far;
    const double by_force = cheapest_by_force(notes, rules, so_far);
    const FeetPath path = cheapest_feet(notes, rules, {});
    EXPECT_NEAR(path.cost, by_force, 1e-9) << "line " << trial;
    EXPECT_NEAR(plain_cost(notes, rules, path.choices), by_force, 1e-9);
  }
}

// With chords and changes on held keys: every path through the edges, without joining states that are alike.
double every_path(const std::vector<PedalNote>& notes, const FeetRules& rules, std::size_t i, const FeetState& s) {
  if (i == notes.size()) return 0;
  std::vector<FeetEdge> edges;
  feet_edges(notes, rules, i, s, {}, edges);
  double least = std::numeric_limits<double>::infinity();
  for (const FeetEdge& e : edges)
    least = std::min(least, dot(rules.weights, e.terms) + every_path(notes, rules, i + 1, e.next));
  return least;
}

TEST(FeetSearch, LosesNothingByJoiningStates) {
  Random random(4, 2);
  const FeetRules rules;
  for (int trial = 0; trial < 25; ++trial) {
    const std::vector<PedalNote> notes = random_line(random, 5, true);
    EXPECT_NEAR(cheapest_feet(notes, rules, {}).cost, every_path(notes, rules, 0, {}), 1e-9);
  }
}

TEST(FeetSearch, TellsTheLeastCostWithEachFootAndPart) {
  Random random(4, 3);
  const FeetRules rules;
  for (int trial = 0; trial < 10; ++trial) {
    const std::vector<PedalNote> notes = random_line(random, 12, trial % 2 == 1);
    const FeetPath path = cheapest_feet(notes, rules, {});
    for (std::size_t i = 0; i < notes.size(); ++i) {
      for (const Foot f : {Foot::left, Foot::right}) {
        std::vector<FeetDemand> demands(notes.size());
        demands[i].foot = f;
        demands[i].part = FootPart::toe;
        EXPECT_NEAR(cheapest_feet(notes, rules, demands).cost, path.least_with[i][static_cast<std::size_t>(f)][0],
                    1e-9);
      }
    }
  }
}

TEST(FeetSearch, NeverPutsOneFootInTwoPlaces) {
  Random random(4, 4);
  const FeetRules rules;
  for (int trial = 0; trial < 40; ++trial) {
    const std::vector<PedalNote> notes = random_line(random, 40, true);
    const FeetPath path = cheapest_feet(notes, rules, {});
    ASSERT_EQ(path.choices.size(), notes.size());
    for (std::size_t i = 0; i < notes.size(); ++i) {
      EXPECT_FALSE(path.choices[i].part == FootPart::heel && is_sharp(notes[i].key));
      for (std::size_t j = 0; j < i; ++j) {
        if (notes[j].end <= notes[i].start || path.choices[j].after().foot != path.choices[i].foot) continue;
        // Both held by one foot: it lets go early (told), or spans them.
        const bool told = path.terms[i][static_cast<std::size_t>(FeetTerm::early)] > 0;
        bool let_go_before = false;
        for (std::size_t k = j + 1; k < i; ++k) {
          let_go_before |= path.choices[k].foot == path.choices[i].foot &&
                           path.terms[k][static_cast<std::size_t>(FeetTerm::early)] > 0;
        }
        EXPECT_TRUE(told || let_go_before || std::abs(notes[i].key.midi - notes[j].key.midi) <= rules.foot_span);
      }
    }
  }
}

TEST(FeetSearch, NoNotesNoFeet) { EXPECT_TRUE(cheapest_feet({}, FeetRules{}, {}).choices.empty()); }

}  // namespace
}  // namespace calcant
