#include "engine/plan/copy_becoming.hpp"

#include <algorithm>

namespace calcant {
namespace {

using Standing = std::vector<StandingAsk>;

// Nothing that is drawn is put in, but couplers that are to be.
Registration drawn_only(const std::vector<CopyAsk>& asks, const Standing& standing, const Registration& r) {
  Registration out = as_asked(asks, standing, r);
  out.stops |= r.stops;
  return out;
}

std::vector<Knob> knobs_of(const std::vector<CopyAsk>& asks, const Standing& standing) {
  std::vector<Knob> with;
  for (const StandingAsk& s : standing) {
    for (const StopIndex i : asks[s.ask].first) with.push_back({Knob::Kind::stop, i});
    if (asks[s.ask].coupler) with.push_back({Knob::Kind::coupler, asks[s.ask].coupler->first});
  }
  return with;
}

bool same(const Standing& a, const Standing& b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](const StandingAsk& x, const StandingAsk& y) {
    return x.ask == y.ask && x.besides == y.besides && x.excused == y.excused && x.fresh == y.fresh;
  });
}

// Divisions whose stops are said.
std::vector<DivisionIndex> named(const std::vector<CopyAsk>& asks, const Standing& standing) {
  std::vector<DivisionIndex> out;
  for (const StandingAsk& s : standing) {
    if (asks[s.ask].whole && asks[s.ask].word.division) out.push_back(*asks[s.ask].word.division);
  }
  return out;
}

class Becomings {
 public:
  explicit Becomings(const std::vector<CopyAsk>& asks) : asks_(asks) {}

  // `first` done wholly, then `then` with nothing put in; where the hands are as in `p`.
  void add(const Standing& first, const Standing& then, const Passage& p) {
    VocabularyWish::Becoming b;
    b.how = [&asks = asks_, first, then](const Registration& r) {
      return drawn_only(asks, then, as_asked(asks, first, r));
    };
    b.with = knobs_of(asks_, first);
    b.named = named(asks_, first);
    for (const Knob k : knobs_of(asks_, then)) b.with.push_back(k);
    for (const DivisionIndex d : named(asks_, then)) b.named.push_back(d);
    for (const Standing* asked : {&first, &then}) {
      for (const StandingAsk& s : *asked) {
        if (asks_[s.ask].coupler) b.said.set(static_cast<std::size_t>(asks_[s.ask].coupler->first));
      }
    }
    b.right = p.right;
    b.left = p.left;
    out.push_back(std::move(b));
  }
  std::vector<VocabularyWish::Becoming> out;

 private:
  const std::vector<CopyAsk>& asks_;
};

}  // namespace

std::vector<VocabularyWish::Becoming> becoming(const Organ& organ, const std::vector<CopyAsk>& asks,
                                               const std::vector<Passage>& passages) {
  Becomings all(asks);
  std::vector<const Standing*> tried;
  const auto home = [&](std::optional<KeyboardIndex> k) {
    return k ? organ.keyboards[static_cast<std::size_t>(*k)].division : DivisionIndex{-1};
  };
  for (std::size_t p = 0; p < passages.size(); ++p) {
    const Passage& here = passages[p];
    Standing fresh = here.asks;
    std::erase_if(fresh, [](const StandingAsk& s) { return !s.fresh; });
    const bool again = std::any_of(tried.begin(), tried.end(), [&](const Standing* t) { return same(*t, here.asks); });
    if (fresh.empty() || again) continue;
    tried.push_back(&here.asks);
    all.add(here.asks, {}, here);
    all.add({}, here.asks, here);
    if (fresh.size() < here.asks.size()) all.add(fresh, {}, here);
    if (p == 0) continue;
    // What stood before, with the hands as they go on; with what is new drawn to it: the fewest moves. And before it, what
    // is new where it is not heard yet.
    const Passage& last = passages[p - 1];
    all.add(last.asks, {}, here);
    all.add(last.asks, fresh, here);
    Standing ready = fresh;
    std::erase_if(ready, [&](const StandingAsk& s) {
      const auto d = asks[s.ask].word.division;
      return !asks[s.ask].whole || !d || !last.right || d == home(last.right) || d == home(last.left);
    });
    if (ready.empty()) continue;
    Standing both = last.asks;
    both.insert(both.end(), ready.begin(), ready.end());
    all.add(both, {}, last);
    // Ready so, the rest is drawn as it comes.
    Standing rest = fresh;
    std::erase_if(rest, [&](const StandingAsk& s) {
      return std::any_of(ready.begin(), ready.end(), [&](const StandingAsk& r) { return r.ask == s.ask; });
    });
    all.add(both, {}, here);
    all.add(both, rest, here);
  }
  return all.out;
}

}  // namespace calcant
