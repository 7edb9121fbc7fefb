#include "engine/plan/copy_asks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/plan/chorus.hpp"

namespace calcant {
namespace {

constexpr double a_stop_more = 0.25;  // of a stop that is named: one that is not named with it

class Reader {
 public:
  Reader(const Organ& organ, const std::vector<Knob>& never) : organ_(organ), never_(never) {}

  [[nodiscard]] CopyAsk ask(const CopyWord& word) const {
    CopyAsk a;
    a.word = word;
    switch (word.kind) {
      case CopyKind::coupler_on:
      case CopyKind::coupler_off: coupler(a); break;
      case CopyKind::box: box(a); break;
      case CopyKind::level:
      case CopyKind::stops:
      case CopyKind::add: named(a); break;
      case CopyKind::put_in:
        for (const CopyStop& s : word.stops) {
          for (const StopIndex i : s.stops) a.none_of.set(static_cast<std::size_t>(i));
        }
        break;
      case CopyKind::unclear: break;
    }
    return a;
  }

 private:
  [[nodiscard]] bool barred(Knob k) const { return std::find(never_.begin(), never_.end(), k) != never_.end(); }

  void coupler(CopyAsk& a) const {
    if (!a.word.coupler) return;
    const bool on = a.word.kind == CopyKind::coupler_on;
    if (on && barred({Knob::Kind::coupler, *a.word.coupler})) a.lacking.emplace_back("you have forbidden it");
    else a.coupler = {*a.word.coupler, on};
  }

  void box(CopyAsk& a) const {
    if (!a.word.box || !a.word.open) return;
    const auto rests = box_rests(organ_, *a.word.box);
    const auto open = static_cast<float>(*a.word.open);
    const auto nearest = std::min_element(rests.begin(), rests.end(),
                                          [&](float x, float y) { return std::abs(x - open) < std::abs(y - open); });
    a.box = BoxSetting{*a.word.box, *nearest};
  }

  void named(CopyAsk& a) const {
    bool foundations = false;
    for (const CopyStop& s : a.word.stops) {
      Jambs::Stops any;
      std::optional<StopIndex> first;
      std::string why;
      for (const StopIndex i : s.stops) {
        if (barred({Knob::Kind::stop, i})) why = " (you have forbidden it)";
        else if (organ_.stops[static_cast<std::size_t>(i)].out_of_use) why = " (out of use)";
        else {
          any.set(static_cast<std::size_t>(i));
          if (!first) first = i;
        }
      }
      foundations = foundations || s.foundations;
      if (!first) {
        a.lacking.push_back(s.name + why);
        continue;
      }
      a.one_of.push_back(any);
      a.first.push_back(*first);
    }
    a.whole = a.word.kind != CopyKind::add && !a.one_of.empty();
    if (a.whole) a.none_of = others(a, foundations);
  }

  // What else of its division is not meant to be drawn.
  [[nodiscard]] Jambs::Stops others(const CopyAsk& a, bool foundations) const {
    Jambs::Stops named;
    int highest = -100;
    bool full = false;
    for (const Jambs::Stops& s : a.one_of) {
      named |= s;
      for (std::size_t i = 0; i < organ_.stops.size(); ++i) {
        if (!s[i]) continue;
        const Stop& stop = organ_.stops[i];
        full = full || stop.family == Family::reed || stop.mixture_ranks > 0;
        if (!stop.feet.empty()) highest = std::max(highest, stop.feet.front().semitones());
      }
    }
    Jambs::Stops out;
    for (std::size_t i = 0; i < organ_.stops.size(); ++i) {
      const Stop& s = organ_.stops[i];
      if (!a.word.division || s.division != *a.word.division || named[i]) continue;
      const bool flue8 = s.family != Family::reed && s.feet.size() == 1 && s.feet.front().semitones() == 0;
      if (a.word.kind == CopyKind::stops) {
        out.set(i, !(foundations && flue8));
        continue;
      }
      const bool above = s.feet.empty() || s.feet.front().semitones() > highest;
      out.set(i, !full && (s.family == Family::reed || s.mixture_ranks > 0 || above));
    }
    return out;
  }

  const Organ& organ_;
  const std::vector<Knob>& never_;
};

Jambs::Stops drawn_by(const CopyAsk& a) {
  Jambs::Stops out;
  for (const Jambs::Stops& s : a.one_of) out |= s;
  return out;
}

}  // namespace

std::vector<CopyAsk> copy_asks(const Score& score, const Organ& organ, const std::vector<Knob>& never) {
  const Reader reader(organ, never);
  std::vector<CopyAsk> out;
  for (const CopyWord& w : copy_words(score, organ)) out.push_back(reader.ask(w));
  return out;
}

void ask(std::vector<StandingAsk>& standing, const std::vector<CopyAsk>& asks, std::size_t word) {
  const CopyAsk& now = asks[word];
  const Jambs::Stops draws = drawn_by(now);
  std::erase_if(standing, [&](const StandingAsk& s) {
    const CopyAsk& old = asks[s.ask];
    if (s.ask == word) return true;
    if (now.coupler && old.coupler) return now.coupler->first == old.coupler->first;
    if (now.box && old.box) return now.box->box == old.box->box;
    if (now.whole && !s.fresh && !old.coupler && !old.box) return old.word.division == now.word.division;
    return false;
  });
  for (StandingAsk& s : standing) {
    if (now.word.kind == CopyKind::add) s.besides |= draws;
    if (now.word.kind == CopyKind::put_in) s.excused |= now.none_of;
  }
  const auto at = std::find_if(standing.begin(), standing.end(), [&](const StandingAsk& s) { return s.ask > word; });
  standing.insert(at, {word, true, 0, {}, {}});
}

void boxes_free(std::vector<StandingAsk>& standing, const std::vector<CopyAsk>& asks) {
  std::erase_if(standing, [&](const StandingAsk& s) { return asks[s.ask].box.has_value(); });
}

double unmet(const CopyAsk& asked, const StandingAsk& standing, const Registration& drawn) {
  double parts = 0;
  double left = 0;
  if (asked.coupler) {
    ++parts;
    left += drawn.couplers[static_cast<std::size_t>(asked.coupler->first)] != asked.coupler->second;
  }
  if (asked.box) {
    ++parts;
    left += drawn.box[static_cast<std::size_t>(asked.box->box)] != asked.box->opening;
  }
  for (const Jambs::Stops& any : asked.one_of) {
    ++parts;
    left += (any & drawn.stops).none() && (any & standing.excused).none();
  }
  const auto more = static_cast<double>((asked.none_of & ~standing.besides & drawn.stops).count());
  if (asked.one_of.empty() && asked.none_of.any()) {
    ++parts;
    left += more > 0;
  } else {
    left += a_stop_more * more;
  }
  return parts > 0 ? std::min(1.0, left / parts) : 0;
}

double copy_cost(const std::vector<CopyAsk>& asks, const std::vector<StandingAsk>& standing,
                 const Registration& drawn) {
  double cost = 0;
  for (const StandingAsk& s : standing) cost += s.weight * unmet(asks[s.ask], s, drawn);
  return cost;
}

Registration as_asked(const std::vector<CopyAsk>& asks, const std::vector<StandingAsk>& standing, Registration drawn) {
  for (const StandingAsk& s : standing) {
    const CopyAsk& a = asks[s.ask];
    if (a.coupler) drawn.couplers.set(static_cast<std::size_t>(a.coupler->first), a.coupler->second);
    if (a.box) drawn.box[static_cast<std::size_t>(a.box->box)] = a.box->opening;
    drawn.stops &= ~(a.none_of & ~s.besides);
    for (std::size_t i = 0; i < a.one_of.size(); ++i) {
      if ((a.one_of[i] & (drawn.stops | s.excused)).none()) drawn.stops.set(static_cast<std::size_t>(a.first[i]));
    }
  }
  return drawn;
}

}  // namespace calcant
