#include "engine/playing/feet_search.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <limits>
#include <unordered_map>

namespace calcant {

namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();
// Naturals a second a free foot moves at ease: a fifth in half a second (assumed).
constexpr double easy_speed = 8.0;

Foot other(Foot f) { return f == Foot::left ? Foot::right : Foot::left; }
FootPart other(FootPart p) { return p == FootPart::toe ? FootPart::heel : FootPart::toe; }
std::size_t index(Foot f) { return static_cast<std::size_t>(f); }
std::size_t index(FootPart p) { return static_cast<std::size_t>(p); }

// The edges of one note from one state.
class Step {
 public:
  Step(const std::vector<PedalNote>& notes, const FeetRules& rules, std::size_t i, const FeetState& s)
      : notes_(notes), rules_(rules), i_(static_cast<std::int32_t>(i)), state_(s), note_(notes[i]) {}

  void all(const FeetDemand& demand, std::vector<FeetEdge>& out) const {
    out.clear();
    for (const Foot f : {Foot::left, Foot::right}) {
      for (const FootPart p : {FootPart::toe, FootPart::heel}) {
        const bool wanted = demand.part == p;  // a mark fixed by the player may break the player's own rule
        if (p == FootPart::heel && !heel_possible() && !wanted) continue;
        strike({f, p, FeetChoice::Change::none}, demand, out);
      }
    }
  }

 private:
  [[nodiscard]] bool heel_possible() const { return rules_.heels && (rules_.heel_on_sharps || !is_sharp(note_.key)); }
  [[nodiscard]] const PedalNote& at(std::int32_t j) const { return notes_[static_cast<std::size_t>(j)]; }
  [[nodiscard]] double x(std::int32_t j) const { return rules_.board.across(at(j).key); }
  [[nodiscard]] double gap(std::int32_t j) const { return std::abs(x(i_) - x(j)) * rules_.board.reach(); }
  [[nodiscard]] int semitones(std::int32_t j) const { return std::abs(note_.key.midi - at(j).key.midi); }
  [[nodiscard]] bool holds(std::int32_t j) const { return note_.start < at(j).end; }
  // Seconds since the foot was free to leave note j.
  [[nodiscard]] double idle(const FootMemory& m) const {
    const PedalNote& n = at(m.last);
    const double left = m.released ? 0.5 * (n.from.value() + n.to.value()) : n.to.value();
    return std::max(0.0, note_.from.value() - left);
  }
  static void add(FeetTerms& t, FeetTerm term, double v) { t[static_cast<std::size_t>(term)] += v; }

  // Toe and heel of one foot on two keys: naturals by which the toe points inward.
  [[nodiscard]] double twist(Foot f, double toe, double heel) const {
    return std::max(0.0, f == Foot::right ? heel - toe : toe - heel);
  }

  // What it costs the foot itself to come from where it was.
  void arrive(const FeetChoice& c, FeetTerms& t) const {
    const FootMemory& m = state_.foot[index(c.foot)];
    if (m.last < 0) return;
    const bool same_key = at(m.last).key == note_.key;
    if (!m.released && note_.start <= at(m.last).end) {
      if (same_key) {
        if (m.part != c.part) add(t, FeetTerm::other_part, 1);
      } else if (m.part != c.part && semitones(m.last) <= rules_.foot_span) {
        add(t, FeetTerm::third, std::max(0, semitones(m.last) - 2));
        const bool toe_here = c.part == FootPart::toe;
        add(t, FeetTerm::twist, twist(c.foot, x(toe_here ? i_ : m.last), x(toe_here ? m.last : i_)));
      } else if (m.part == c.part && semitones(m.last) <= 2) {
        add(t, FeetTerm::slide, 1);
      } else {
        add(t, FeetTerm::lift, 1);
        add(t, FeetTerm::lift_far, gap(m.last));
      }
      return;
    }
    if (same_key && m.part == c.part) return;
    const double way = gap(m.last);
    if (state_.foot[index(other(c.foot))].last < m.last) add(t, FeetTerm::hop, 1);
    add(t, FeetTerm::travel, way);
    add(t, FeetTerm::hurry, std::max(0.0, way - easy_speed * idle(m)));
  }

  // What it costs beside the other foot and on this part of the board.
  void stand(const FeetChoice& c, FeetTerms& t) const {
    const FootMemory& o = state_.foot[index(other(c.foot))];
    if (o.last >= 0) {
      const bool touching = !o.released && note_.start <= at(o.last).end;
      if (touching && at(o.last).key == note_.key) add(t, FeetTerm::other_foot, 1);
      const double over = c.foot == Foot::right ? x(o.last) - x(i_) : x(i_) - x(o.last);
      if (over > 0) {
        const double fade = touching ? 1.0 : std::clamp(1.0 - idle(o), 0.0, 1.0);
        add(t, FeetTerm::cross, fade * (1 + 0.5 * over));
      }
    }
    const double over_middle = (c.foot == Foot::left ? x(i_) : -x(i_)) * rules_.board.reach();
    add(t, FeetTerm::side, std::max(0.0, over_middle));
    if (!(c.foot == Foot::left ? note_.left_free : note_.right_free)) add(t, FeetTerm::not_free, 1);
  }

  void strike(const FeetChoice& c, const FeetDemand& demand, std::vector<FeetEdge>& out) const {
    FeetEdge e;
    e.choice = c;
    if (c.part == FootPart::heel) add(e.terms, FeetTerm::heel, 1);
    FootMemory& m = e.next.foot[index(c.foot)];
    e.next = state_;
    const FootMemory& before = state_.foot[index(c.foot)];
    m = {i_, -1, c.part, FootPart::toe, false};
    if (before.last >= 0 && !before.released && holds(before.last)) {
      const bool both_sharps = is_sharp(note_.key) && is_sharp(at(before.last).key);
      const bool reach = semitones(before.last) <= rules_.foot_span && semitones(before.last) > 0 &&
                         (before.part != c.part || (both_sharps && c.part == FootPart::toe));
      if (reach && before.also < 0) {
        add(e.terms, FeetTerm::two_keys, 1);
        m.also = before.last;
        m.also_part = before.part;
      } else {
        add(e.terms, FeetTerm::early, before.also < 0 ? 1 : 2);
        arrive(c, e.terms);
      }
    } else {
      arrive(c, e.terms);
    }
    stand(c, e.terms);
    push(e, demand, out);
    if (change_possible(e.next)) changes(e, demand, out);
  }

  [[nodiscard]] bool change_possible(const FeetState& s) const {
    if (note_.to - note_.from < rules_.long_enough_to_change) return false;
    if (i_ + 1 < static_cast<std::int32_t>(notes_.size()) && at(i_ + 1).start < note_.end) return false;
    return std::all_of(s.foot.begin(), s.foot.end(), [&](const FootMemory& m) {
      return m.also < 0 && (m.last < 0 || m.last == i_ || m.released || !holds(m.last));
    });
  }

  void changes(const FeetEdge& struck, const FeetDemand& demand, std::vector<FeetEdge>& out) const {
    using Change = FeetChoice::Change;
    for (const Change change : {Change::other_toe, Change::other_heel, Change::same_foot}) {
      FeetEdge e = struck;
      e.choice.change = change;
      const FeetChoice to = e.choice.after();
      if (to.part == FootPart::heel && !heel_possible() && demand.part_after != FootPart::heel) continue;
      if (!(to.foot == Foot::left ? note_.left_free : note_.right_free)) continue;
      add(e.terms, FeetTerm::substitution, 1);
      if (to.part == FootPart::heel) add(e.terms, FeetTerm::heel, 1);
      if (to.foot != e.choice.foot) {
        const FootMemory& coming = state_.foot[index(to.foot)];
        if (coming.last >= 0) add(e.terms, FeetTerm::travel, gap(coming.last));
        const double over_middle = (to.foot == Foot::left ? x(i_) : -x(i_)) * rules_.board.reach();
        add(e.terms, FeetTerm::side, std::max(0.0, over_middle));
        e.next.foot[index(e.choice.foot)].released = true;
      }
      e.next.foot[index(to.foot)] = {i_, -1, to.part, FootPart::toe, false};
      push(e, demand, out);
    }
  }

  // Forgets what no later note can feel, so that states that are alike become one.
  void push(FeetEdge e, const FeetDemand& demand, std::vector<FeetEdge>& out) const {
    if (!demand.allows(e.choice)) return;
    if (i_ + 1 < static_cast<std::int32_t>(notes_.size())) {
      const PedalNote& next = at(i_ + 1);
      for (FootMemory& m : e.next.foot) {
        if (m.also >= 0 && at(m.also).end <= next.start) m.also = -1;
        if (m.also >= 0 && at(m.last).end <= next.start) m = {m.also, -1, m.also_part, FootPart::toe, false};
        if (m.last >= 0 && at(m.last).end < next.start && next.from - at(m.last).to > rules_.forget) m = {};
        if (m.also < 0) m.also_part = FootPart::toe;
      }
    } else {
      e.next = {};
    }
    out.push_back(e);
  }

  const std::vector<PedalNote>& notes_;
  const FeetRules& rules_;
  std::int32_t i_;
  const FeetState& state_;
  const PedalNote& note_;
};

struct StateHash {
  std::size_t operator()(const FeetState& s) const noexcept {
    std::uint64_t h = 0;
    for (const FootMemory& m : s.foot) {
      const auto bits = (static_cast<std::uint64_t>(static_cast<std::uint32_t>(m.last)) << 32) ^
                        (static_cast<std::uint64_t>(static_cast<std::uint32_t>(m.also)) << 3) ^
                        (index(m.part) | index(m.also_part) << 1 | static_cast<std::size_t>(m.released) << 2);
      h = (h ^ bits) * 0x9E3779B97F4A7C15ULL;
      h ^= h >> 29;
    }
    return static_cast<std::size_t>(h);
  }
};

struct Arc {
  std::uint32_t from;
  std::uint32_t to;
  double cost;
  FeetChoice choice;
};

}  // namespace

FeetChoice FeetChoice::after() const {
  switch (change) {
    case Change::other_toe: return {other(foot), FootPart::toe, Change::none};
    case Change::other_heel: return {other(foot), FootPart::heel, Change::none};
    case Change::same_foot: return {foot, other(part), Change::none};
    case Change::none: break;
  }
  return {foot, part, Change::none};
}

bool FeetDemand::allows(const FeetChoice& c) const {
  const FeetChoice a = c.after();
  return (!foot || *foot == c.foot) && (!part || *part == c.part) && (!foot_after || *foot_after == a.foot) &&
         (!part_after || *part_after == a.part);
}

void feet_edges(const std::vector<PedalNote>& notes, const FeetRules& rules, std::size_t i, const FeetState& s,
                const FeetDemand& demand, std::vector<FeetEdge>& out) {
  Step(notes, rules, i, s).all(demand, out);
}

double dot(const FeetWeights& w, const FeetTerms& t) {
  double sum = 0;
  for (std::size_t k = 0; k < feet_terms; ++k) sum += w[k] * t[k];
  return sum;
}

FeetPath cheapest_feet(const std::vector<PedalNote>& notes, const FeetRules& rules,
                       const std::vector<FeetDemand>& demands) {
  FeetPath path;
  const std::size_t n = notes.size();
  if (n == 0) return path;
  // Forward: every state after every note, and the cheapest way to it.
  std::vector<std::vector<FeetState>> states(n + 1);
  std::vector<std::vector<double>> to_here(n + 1);
  std::vector<std::vector<Arc>> arcs(n);
  states[0].push_back({});
  to_here[0].push_back(0);
  std::vector<FeetEdge> edges;
  for (std::size_t i = 0; i < n; ++i) {
    std::unordered_map<FeetState, std::uint32_t, StateHash> known;
    for (std::uint32_t from = 0; from < states[i].size(); ++from) {
      feet_edges(notes, rules, i, states[i][from], demands.empty() ? FeetDemand{} : demands[i], edges);
      for (const FeetEdge& e : edges) {
        const auto [it, fresh] = known.try_emplace(e.next, static_cast<std::uint32_t>(states[i + 1].size()));
        if (fresh) {
          states[i + 1].push_back(e.next);
          to_here[i + 1].push_back(infinite);
        }
        const double cost = dot(rules.weights, e.terms);
        arcs[i].push_back({from, it->second, cost, e.choice});
        to_here[i + 1][it->second] = std::min(to_here[i + 1][it->second], to_here[i][from] + cost);
      }
    }
  }
  // Backward: what each state costs to the end, and the least cost with each foot and part.
  path.least_with.assign(n, {{{infinite, infinite}, {infinite, infinite}}});
  std::vector<std::vector<double>> onward(n + 1);
  onward[n].assign(states[n].size(), 0.0);
  for (std::size_t i = n; i-- > 0;) {
    onward[i].assign(states[i].size(), infinite);
    for (const Arc& a : arcs[i]) {
      const double rest = a.cost + onward[i + 1][a.to];
      onward[i][a.from] = std::min(onward[i][a.from], rest);
      double& least = path.least_with[i][index(a.choice.foot)][index(a.choice.part)];
      least = std::min(least, to_here[i][a.from] + rest);
    }
  }
  path.cost = onward[0][0];
  // Along the cheapest path, the first of equals.
  std::uint32_t at = 0;
  for (std::size_t i = 0; i < n; ++i) {
    const Arc* best = nullptr;
    double least = infinite;
    for (const Arc& a : arcs[i]) {
      if (a.from != at) continue;
      const double rest = a.cost + onward[i + 1][a.to];
      if (rest < least) {
        least = rest;
        best = &a;
      }
    }
    if (best == nullptr) break;  // only when the demands cannot be met
    double nearest = infinite;
    feet_edges(notes, rules, i, states[i][at], FeetDemand{best->choice.foot, best->choice.part, {}, {}}, edges);
    for (const FeetEdge& e : edges) {
      if (e.choice == best->choice) path.terms.push_back(e.terms);
    }
    feet_edges(notes, rules, i, states[i][at], {}, edges);
    for (const FeetEdge& e : edges) nearest = std::min(nearest, dot(rules.weights, e.terms));
    path.at_sight.push_back(best->cost <= nearest + 1e-9);
    path.choices.push_back(best->choice);
    at = best->to;
  }
  return path;
}

}  // namespace calcant
