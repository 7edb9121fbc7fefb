// The search against brute force where notes overlap and feet change on held keys: two notes at once, chords, substitution.
// Every way of taking a short line is written out, and its cost counted by walking through the whole line with two feet
// that remember what they stand on: a second reading of feet_cost.hpp, by another hand than the search's.
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <limits>

#include "engine/playing/feet_search.hpp"
#include "engine/quantity/random.hpp"

namespace calcant {
namespace {

using Change = FeetChoice::Change;
using Term = FeetTerm;
constexpr double never = std::numeric_limits<double>::infinity();

// A foot as one sees it: the keys it stands on, newest last, or the key it left for the other foot.
struct Standing {
  std::vector<std::pair<int, FootPart>> on;  // notes; one or two
  bool gone = false;                         // it has left the note to the other foot
  [[nodiscard]] bool anywhere() const { return !on.empty(); }
  [[nodiscard]] int last() const { return on.back().first; }
  [[nodiscard]] FootPart part() const { return on.back().second; }
};

class Walk {
 public:
  Walk(const std::vector<PedalNote>& notes, const FeetRules& rules) : notes_(notes), rules_(rules) {}

  double cost(const std::vector<FeetChoice>& choices) {
    sum_ = 0;
    feet_ = {};
    for (std::size_t i = 0; i < notes_.size(); ++i) {
      arrive_at(static_cast<int>(i));
      take(static_cast<int>(i), choices[i]);
      if (choices[i].change != Change::none && !change(static_cast<int>(i), choices[i])) return never;
    }
    return sum_;
  }

 private:
  [[nodiscard]] const PedalNote& n(int i) const { return notes_[static_cast<std::size_t>(i)]; }
  [[nodiscard]] double x(int i) const { return rules_.board.across(n(i).key); }
  [[nodiscard]] double way(int i, int j) const { return std::abs(x(i) - x(j)) * rules_.board.reach(); }
  void pay(Term t, double times = 1) { sum_ += rules_.weights[static_cast<std::size_t>(t)] * times; }
  Standing& foot(Foot f) { return feet_[static_cast<std::size_t>(f)]; }
  static Foot opposite(Foot f) { return f == Foot::left ? Foot::right : Foot::left; }
  [[nodiscard]] double idle(const Standing& s, int i) const {
    const PedalNote& o = n(s.last());
    const double left = s.gone ? (o.from.value() + o.to.value()) / 2 : o.to.value();
    return std::max(0.0, n(i).from.value() - left);
  }

  // As note i begins: of two keys the one that has ended is left, and a foot long free is anywhere.
  void arrive_at(int i) {
    for (Standing& s : feet_) {
      if (s.on.size() == 2 && n(s.on[0].first).end <= n(i).start) s.on.erase(s.on.begin());
      if (s.on.size() == 2 && n(s.on[1].first).end <= n(i).start) s.on.pop_back();
      if (s.anywhere() && n(s.last()).end < n(i).start && n(i).from - n(s.last()).to > rules_.forget) s = {};
    }
  }

  void take(int i, const FeetChoice& c) {
    Standing& mine = foot(c.foot);
    const Standing& other = foot(opposite(c.foot));
    if (c.part == FootPart::heel) pay(Term::heel);
    beside(i, c, other);
    const bool holding = mine.anywhere() && !mine.gone && n(i).start < n(mine.last()).end;
    if (holding) {
      const int apart = std::abs(n(i).key.midi - n(mine.last()).key.midi);
      const bool sharps = is_sharp(n(i).key) && is_sharp(n(mine.last()).key) && c.part == FootPart::toe;
      const bool spans = apart > 0 && apart <= rules_.foot_span && (mine.part() != c.part || sharps);
      if (spans && mine.on.size() == 1) {
        pay(Term::two_keys);
        mine.on.emplace_back(i, c.part);
        return;
      }
      pay(Term::early, mine.on.size() == 1 ? 1 : 2);
    }
    come(i, c, mine, other);
    mine = {{{i, c.part}}, false};
  }

  void come(int i, const FeetChoice& c, const Standing& mine, const Standing& other) {
    if (!mine.anywhere()) return;
    const int j = mine.last();
    const int apart = std::abs(n(i).key.midi - n(j).key.midi);
    if (!mine.gone && n(i).start <= n(j).end) {
      if (apart == 0) {
        if (mine.part() != c.part) pay(Term::other_part);
      } else if (mine.part() != c.part && apart <= rules_.foot_span) {
        pay(Term::third, std::max(0, apart - 2));
        const double toe = c.part == FootPart::toe ? x(i) : x(j);
        const double heel = c.part == FootPart::toe ? x(j) : x(i);
        pay(Term::twist, std::max(0.0, c.foot == Foot::right ? heel - toe : toe - heel));
      } else if (mine.part() == c.part && apart <= 2) {
        pay(Term::slide);
      } else {
        pay(Term::lift);
        pay(Term::lift_far, way(i, j));
      }
      return;
    }
    if (apart == 0 && mine.part() == c.part) return;
    if (!other.anywhere() || other.last() < j) pay(Term::hop);
    pay(Term::travel, way(i, j));
    pay(Term::hurry, std::max(0.0, way(i, j) - 8.0 * idle(mine, i)));
  }

  void beside(int i, const FeetChoice& c, const Standing& other) {
    const bool left = c.foot == Foot::left;
    if (other.anywhere()) {
      const bool touching = !other.gone && n(i).start <= n(other.last()).end;
      if (touching && n(other.last()).key == n(i).key) pay(Term::other_foot);
      const double over = left ? x(i) - x(other.last()) : x(other.last()) - x(i);
      const double fade = touching ? 1.0 : std::clamp(1.0 - idle(other, i), 0.0, 1.0);
      if (over > 0) pay(Term::cross, fade * (1 + over / 2));
    }
    pay(Term::side, std::max(0.0, left ? x(i) : -x(i)) * rules_.board.reach());
    if (!(left ? n(i).left_free : n(i).right_free)) pay(Term::not_free);
  }

  // False where a change is not to be had: a short note, something else held or struck before its end, no free foot.
  bool change(int i, const FeetChoice& c) {
    if (n(i).to - n(i).from < rules_.long_enough_to_change) return false;
    if (static_cast<std::size_t>(i) + 1 < notes_.size() && n(i + 1).start < n(i).end) return false;
    for (const Standing& s : feet_) {
      if (s.on.size() > 1) return false;
      if (s.anywhere() && s.last() != i && !s.gone && n(i).start < n(s.last()).end) return false;
    }
    const Foot to = c.change == Change::same_foot ? c.foot : opposite(c.foot);
    const FootPart part = c.change == Change::other_toe    ? FootPart::toe
                          : c.change == Change::other_heel ? FootPart::heel
                          : c.part == FootPart::toe        ? FootPart::heel
                                                           : FootPart::toe;
    if (part == FootPart::heel && (!rules_.heels || (is_sharp(n(i).key) && !rules_.heel_on_sharps))) return false;
    if (!(to == Foot::left ? n(i).left_free : n(i).right_free)) return false;
    pay(Term::substitution);
    if (part == FootPart::heel) pay(Term::heel);
    if (to != c.foot) {
      if (foot(to).anywhere()) pay(Term::travel, way(i, foot(to).last()));
      pay(Term::side, std::max(0.0, to == Foot::left ? x(i) : -x(i)) * rules_.board.reach());
      foot(c.foot).gone = true;
    }
    foot(to) = {{{i, part}}, false};
    return true;
  }

  const std::vector<PedalNote>& notes_;
  const FeetRules& rules_;
  std::array<Standing, 2> feet_;
  double sum_ = 0;
};

double cheapest_by_force(Walk& walk, const std::vector<PedalNote>& notes, const std::vector<FeetDemand>& fixed,
                         std::vector<FeetChoice>& so_far) {
  if (so_far.size() == notes.size()) return walk.cost(so_far);
  double least = never;
  const FeetDemand& wanted = fixed[so_far.size()];
  for (const Foot f : {Foot::left, Foot::right}) {
    if (wanted.foot && *wanted.foot != f) continue;
    for (const FootPart p : {FootPart::toe, FootPart::heel}) {
      if (wanted.part && *wanted.part != p) continue;
      if (p == FootPart::heel && is_sharp(notes[so_far.size()].key)) continue;
      for (const Change c : {Change::none, Change::other_toe, Change::other_heel, Change::same_foot}) {
        so_far.push_back({f, p, c});
        least = std::min(least, cheapest_by_force(walk, notes, fixed, so_far));
        so_far.pop_back();
      }
    }
  }
  return least;
}

PedalNote pressed(int midi, Rational start, Rational end) {
  PedalNote p;
  p.key = Note{midi};
  p.start = start;
  p.end = end;
  p.from = Seconds{start.to_double()};
  p.to = Seconds{end.to_double()};
  return p;
}

// Pairs of notes struck together, notes that overlap the next, long ones on which a change is possible, rests.
std::vector<PedalNote> random_overlapping(Random& random, std::size_t count, bool pairs) {
  std::vector<PedalNote> out;
  Rational t;
  while (out.size() < count) {
    const int low = 36 + random.below(22);
    const Rational length{1 + random.below(4)};
    const bool pair = pairs && random.below(2) == 0 && out.size() + 1 < count;
    out.push_back(pressed(low, t, t + length + Rational{pairs && random.below(3) == 0 ? 2 : 0}));
    if (pair) out.push_back(pressed(low + 1 + random.below(12), t, t + length));
    t += length + Rational{random.below(5) == 0 ? 1 + random.below(6) : 0};
  }
  for (PedalNote& p : out) {
    p.left_free = random.below(12) != 0;
    p.right_free = random.below(12) != 0;
  }
  return out;
}

// Marks the player fixed on every other note: a foot, or a foot and what of it.
std::vector<FeetDemand> random_marks(Random& random, const std::vector<PedalNote>& notes) {
  std::vector<FeetDemand> out(notes.size());
  for (std::size_t i = 0; i < notes.size(); ++i) {
    if (random.below(2) != 0) continue;
    out[i].foot = random.below(2) == 0 ? Foot::left : Foot::right;
    if (random.below(2) == 0)
      out[i].part = is_sharp(notes[i].key) || random.below(2) == 0 ? FootPart::toe : FootPart::heel;
  }
  return out;
}

// Two notes at once, feet booked by the swell pedal, marks fixed by the player.
TEST(FeetForce, TheSearchIsOptimalWithChordsAndChangesOnHeldKeys) {
  Random random(9, 1);
  int pairs = 0;
  int changes = 0;
  int marks = 0;
  for (int trial = 0; trial < 32; ++trial) {
    FeetRules rules;
    Console flat;
    flat.radiating = trial % 3 != 0;  // a straight board is further to reach
    rules.board = Pedalboard(flat);
    if (trial % 2 == 0) rules.weights[static_cast<std::size_t>(FeetTerm::substitution)] = 0.05;  // so that they occur
    const std::vector<PedalNote> notes = random_overlapping(random, 4, trial % 2 != 0);
    for (std::size_t i = 1; i < notes.size(); ++i) pairs += notes[i].start < notes[i - 1].end;
    Walk walk(notes, rules);
    std::vector<FeetChoice> so_far;
    const std::vector<FeetDemand> fixed =
        trial % 4 < 2 ? std::vector<FeetDemand>(notes.size()) : random_marks(random, notes);
    const double by_force = cheapest_by_force(walk, notes, fixed, so_far);
    const FeetPath path = cheapest_feet(notes, rules, fixed);
    ASSERT_EQ(path.choices.size(), notes.size());
    EXPECT_NEAR(path.cost, by_force, 1e-9) << "trial " << trial;
    EXPECT_NEAR(walk.cost(path.choices), by_force, 1e-9) << "trial " << trial;
    for (std::size_t i = 0; i < notes.size(); ++i) {
      changes += path.choices[i].change != Change::none;
      if (!fixed[i].foot) continue;
      ++marks;
      EXPECT_EQ(path.choices[i].foot, *fixed[i].foot);
      EXPECT_TRUE(!fixed[i].part || path.choices[i].part == *fixed[i].part);
    }
  }
  EXPECT_GE(pairs, 20);
  EXPECT_GE(changes, 3);
  EXPECT_GE(marks, 12);
}

}  // namespace
}  // namespace calcant
