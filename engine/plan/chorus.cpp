#include "engine/plan/chorus.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <functional>

#include "engine/quantity/listed.hpp"

namespace calcant {
namespace {

// What practice has against a way of drawing, in the currency of the search (docs/design/plan.md). Rules of
// docs/reference/rules.md; the figures are ours.
constexpr double two_without_four = 0.7;       // R2; "8 and 2" is a colour, and on few stops often the answer
constexpr double mixture_without_two = 0.3;    // R2
constexpr double four_without_open = 0.25;     // R4: the Principal follows the Open Diapason
constexpr double two_without_principal = 0.6;  // R4
constexpr double same_kind = 0.5;              // R6
constexpr double string_in_chorus = 0.4;       // R7
constexpr double string_with_diapason = 0.25;  // R7
constexpr double reed_without_flue = 0.3;      // R10
constexpr double sixteen_drawn = 0.5;          // R11
constexpr double solo_in_chorus = 0.1;         // an imitative stop meant for solos
constexpr double no_unison = 0.6;          // R1, for a division that is coupled in; led from without it: vocabulary.cpp
constexpr double coupled_string = 0.25;    // R7
constexpr double coupled_upperwork = 0.6;  // R4: on no Principal here
constexpr double coupled_on_flutes = 0.6;  // R4: on no diapason here
constexpr double same_in_pedal = 0.15;     // R6
constexpr double per_stop = 0.02;          // of two that serve alike, the fewer stops

constexpr std::size_t most_voicings = 200000;

struct Kinds {
  std::array<std::vector<StopIndex>, static_cast<std::size_t>(ChorusPart::other)> of;
  [[nodiscard]] const std::vector<StopIndex>& operator[](ChorusPart p) const { return of[static_cast<std::size_t>(p)]; }
};

bool barred(const std::vector<Knob>& never, Knob k) { return std::find(never.begin(), never.end(), k) != never.end(); }

Kinds kinds_of(const Organ& organ, DivisionIndex division, const std::vector<Knob>& never) {
  Kinds k;
  for (std::size_t i = 0; i < organ.stops.size(); ++i) {
    const Stop& s = organ.stops[i];
    const auto index = static_cast<StopIndex>(i);
    const ChorusPart part = chorus_part(s);
    if (s.division != division || s.out_of_use || part == ChorusPart::other) continue;
    if (!barred(never, {Knob::Kind::stop, index})) k.of[static_cast<std::size_t>(part)].push_back(index);
  }
  return k;
}

// Of several of a kind: none, each alone, and the first two, three and so on together.
std::vector<std::vector<StopIndex>> ways(const std::vector<StopIndex>& kind) {
  std::vector<std::vector<StopIndex>> out{{}};
  for (const StopIndex s : kind) out.push_back({s});
  for (std::size_t n = 2; n <= kind.size(); ++n) out.emplace_back(kind.begin(), kind.begin() + static_cast<long>(n));
  return out;
}

// nothing: practice is plainly against it.
std::optional<double> against(const Organ& organ, const Kinds& all, const std::vector<StopIndex>& drawn) {
  std::array<int, static_cast<std::size_t>(ChorusPart::other) + 1> n{};
  double cost = per_stop * static_cast<double>(drawn.size());
  for (const StopIndex i : drawn) {
    const Stop& s = organ.stops[static_cast<std::size_t>(i)];
    ++n[static_cast<std::size_t>(chorus_part(s))];
    if (s.tremulous_solo && drawn.size() > 1) cost += solo_in_chorus;
  }
  const auto has = [&](ChorusPart p) { return n[static_cast<std::size_t>(p)]; };
  const int flues8 = has(ChorusPart::flute8) + has(ChorusPart::string8) + has(ChorusPart::principal8);
  const int fours = has(ChorusPart::flute4) + has(ChorusPart::principal4);
  if (has(ChorusPart::twelfth) > 0 && has(ChorusPart::two) == 0) return std::nullopt;  // R3
  if (has(ChorusPart::mixture) > 0 && fours == 0) return std::nullopt;
  if (has(ChorusPart::sixteen) > 0 && (flues8 == 0 || fours == 0)) return std::nullopt;  // R13
  if (has(ChorusPart::big_reed) > 0 && (has(ChorusPart::reed8) == 0 || has(ChorusPart::mixture) == 0))
    return std::nullopt;
  if (flues8 + has(ChorusPart::reed8) == 0) cost += no_unison;
  if (has(ChorusPart::two) > 0 && fours == 0) cost += two_without_four;
  if (has(ChorusPart::mixture) > 0 && has(ChorusPart::two) == 0 && !all[ChorusPart::two].empty())
    cost += mixture_without_two;
  if (has(ChorusPart::principal4) > 0 && has(ChorusPart::principal8) == 0 && !all[ChorusPart::principal8].empty())
    cost += four_without_open;
  if (has(ChorusPart::two) + has(ChorusPart::mixture) > 0 && has(ChorusPart::principal4) == 0 &&
      !all[ChorusPart::principal4].empty())
    cost += two_without_principal;
  for (const ChorusPart p : {ChorusPart::principal8, ChorusPart::flute8, ChorusPart::string8, ChorusPart::flute4,
                             ChorusPart::principal4, ChorusPart::sixteen, ChorusPart::mixture}) {
    if (has(p) > 1) cost += same_kind * (has(p) - 1);
  }
  if (has(ChorusPart::string8) > 0 && has(ChorusPart::principal4) + has(ChorusPart::two) + has(ChorusPart::mixture) > 0)
    cost += string_in_chorus;
  else if (has(ChorusPart::string8) > 0 && has(ChorusPart::principal8) > 0) cost += string_with_diapason;
  if (has(ChorusPart::reed8) > 0 && flues8 == 0) cost += reed_without_flue;
  if (has(ChorusPart::sixteen) > 0) cost += sixteen_drawn;
  return cost;
}

std::vector<Voicing> all_of(const Organ& organ, const Kinds& kinds, const std::vector<ChorusPart>& parts,
                            const std::function<std::optional<double>(const std::vector<StopIndex>&)>& cost) {
  std::vector<Voicing> out;
  std::vector<StopIndex> drawn;
  const std::function<void(std::size_t)> go = [&](std::size_t p) {
    if (out.size() >= most_voicings) return;
    if (p == parts.size()) {
      std::vector<StopIndex> stops = drawn;
      std::sort(stops.begin(), stops.end());
      const auto c = cost(stops);
      if (c) out.push_back({std::move(stops), *c, {}});
      return;
    }
    for (const auto& way : ways(kinds[parts[p]])) {
      drawn.insert(drawn.end(), way.begin(), way.end());
      go(p + 1);
      drawn.resize(drawn.size() - way.size());
    }
  };
  go(0);
  for (Voicing& v : out) v.what = voicing_words(organ, v.stops);
  return out;
}

// Whether the division a voicing is of has such a stop in use.
bool manual_has(const Organ& organ, const Voicing& v, ChorusPart part) {
  if (v.stops.empty()) return false;
  const DivisionIndex division = organ.stops[static_cast<std::size_t>(v.stops.front())].division;
  return std::any_of(organ.stops.begin(), organ.stops.end(),
                     [&](const Stop& s) { return s.division == division && !s.out_of_use && chorus_part(s) == part; });
}

}  // namespace

ChorusPart chorus_part(const Stop& s) {
  if (s.celeste) return ChorusPart::other;
  if (s.mixture_ranks > 0 || s.feet.empty()) return ChorusPart::mixture;
  if (s.feet.size() > 1) return ChorusPart::other;
  const bool reed = s.family == Family::reed;
  const bool principal = s.family == Family::principal;
  switch (s.feet.front().semitones()) {
    case -12: return reed ? ChorusPart::big_reed : ChorusPart::sixteen;
    case 0:
      return reed                        ? ChorusPart::reed8
             : principal                 ? ChorusPart::principal8
             : s.family == Family::flute ? ChorusPart::flute8
                                         : ChorusPart::string8;
    case 12: return reed ? ChorusPart::big_reed : principal ? ChorusPart::principal4 : ChorusPart::flute4;
    case 19: return ChorusPart::twelfth;
    case 24: return ChorusPart::two;
    default: return ChorusPart::other;
  }
}

std::string voicing_words(const Organ& organ, const std::vector<StopIndex>& stops) {
  const auto stop = [&](StopIndex i) -> const Stop& { return organ.stops[static_cast<std::size_t>(i)]; };
  std::vector<std::string> words;
  for (const StopIndex i : stops) {
    const auto so_called =
        std::count_if(stops.begin(), stops.end(), [&](StopIndex j) { return stop(j).name == stop(i).name; });
    words.push_back(so_called == 1 ? stop(i).name : full_name(stop(i)));
  }
  return listed(words);
}

std::vector<Voicing> voicings(const Organ& organ, DivisionIndex division, const std::vector<Knob>& never) {
  const Kinds kinds = kinds_of(organ, division, never);
  auto out = all_of(organ, kinds,
                    {ChorusPart::sixteen, ChorusPart::principal8, ChorusPart::flute8, ChorusPart::string8,
                     ChorusPart::reed8, ChorusPart::principal4, ChorusPart::flute4, ChorusPart::twelfth,
                     ChorusPart::two, ChorusPart::mixture, ChorusPart::big_reed},
                    [&](const std::vector<StopIndex>& drawn) { return against(organ, kinds, drawn); });
  std::erase_if(out, [](const Voicing& v) { return v.stops.empty(); });
  return out;
}

std::optional<double> against_drawing(const Organ& organ, DivisionIndex division, const std::vector<StopIndex>& stops) {
  return against(organ, kinds_of(organ, division, {}), stops);
}

bool crowned(const Organ& organ, const Registration& drawn) {
  bool mixture = false;
  bool reed = false;
  for (std::size_t s = 0; s < organ.stops.size(); ++s) {
    if (!drawn.stops[s]) continue;
    mixture = mixture || chorus_part(organ.stops[s]) == ChorusPart::mixture;
    reed = reed || organ.stops[s].family == Family::reed;
  }
  return mixture && reed;
}

double against_coupling(const Organ& organ, const Voicing& own, const Voicing& coupled) {
  const auto count = [&organ](const Voicing& v, std::initializer_list<ChorusPart> parts) {
    return std::count_if(v.stops.begin(), v.stops.end(), [&](StopIndex s) {
      return std::find(parts.begin(), parts.end(), chorus_part(organ.stops[static_cast<std::size_t>(s)])) !=
             parts.end();
    });
  };
  const auto has = [&](const Voicing& v, std::initializer_list<ChorusPart> parts) { return count(v, parts) > 0; };
  const bool open = has(own, {ChorusPart::principal8});
  double cost = open && has(coupled, {ChorusPart::string8}) ? coupled_string : 0;
  if (!has(coupled, {ChorusPart::two, ChorusPart::mixture})) return cost;
  const bool full = has(coupled, {ChorusPart::reed8}) && has(coupled, {ChorusPart::principal4, ChorusPart::flute4});
  if (!open && manual_has(organ, own, ChorusPart::principal8)) cost += coupled_on_flutes;
  if (!full && !has(own, {ChorusPart::principal4}) && manual_has(organ, own, ChorusPart::principal4))
    cost += coupled_upperwork;
  return cost;
}

std::vector<Voicing> pedal_voicings(const Organ& organ, DivisionIndex division, const std::vector<Knob>& never) {
  const Kinds kinds = kinds_of(organ, division, never);
  return all_of(organ, kinds,
                {ChorusPart::sixteen, ChorusPart::principal8, ChorusPart::flute8, ChorusPart::string8,
                 ChorusPart::principal4, ChorusPart::big_reed, ChorusPart::reed8},
                [&](const std::vector<StopIndex>& drawn) -> std::optional<double> {
                  double cost = per_stop * static_cast<double>(drawn.size());
                  int sixteen = 0;
                  bool higher = false;
                  bool eight = false;
                  for (const StopIndex i : drawn) {
                    const Stop& s = organ.stops[static_cast<std::size_t>(i)];
                    const ChorusPart p = chorus_part(s);
                    sixteen += p == ChorusPart::sixteen;
                    eight = eight || (p != ChorusPart::sixteen && !s.feet.empty() && s.feet.front().semitones() == 0);
                    higher = higher || p == ChorusPart::principal4 || s.family == Family::reed;
                  }
                  if (sixteen == 0 && !drawn.empty()) return std::nullopt;  // R15: the pedal begins with its 16 ft
                  if (higher && !eight) return std::nullopt;
                  return cost + same_in_pedal * std::max(0, sixteen - 1);
                });
}

std::optional<KeyboardIndex> pedalboard(const Organ& organ) {
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    if (organ.keyboards[k].pedal) return static_cast<KeyboardIndex>(k);
  }
  return std::nullopt;
}

std::optional<KeyboardIndex> leading_manual(const Organ& organ) {
  std::optional<KeyboardIndex> any;
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    if (organ.keyboards[k].pedal) continue;
    const Kinds c = kinds_of(organ, organ.keyboards[k].division, {});
    if (!c[ChorusPart::principal8].empty()) return static_cast<KeyboardIndex>(k);
    if (!any && !(c[ChorusPart::flute8].empty() && c[ChorusPart::string8].empty())) any = static_cast<KeyboardIndex>(k);
  }
  return any;
}

std::optional<CouplerIndex> unison_coupler(const Organ& organ, KeyboardIndex from, DivisionIndex to,
                                           const std::vector<Knob>& never) {
  for (std::size_t i = 0; i < organ.couplers.size(); ++i) {
    const Coupler& c = organ.couplers[i];
    if (c.from == from && c.to == to && c.semitones == 0 && !c.unison_off &&
        !barred(never, {Knob::Kind::coupler, static_cast<CouplerIndex>(i)})) {
      return static_cast<CouplerIndex>(i);
    }
  }
  return std::nullopt;
}

std::vector<float> box_rests(const Organ& organ, std::optional<BoxIndex> box) {
  if (!box) return {1.0F};
  const SwellBox& b = organ.boxes[static_cast<std::size_t>(*box)];
  if (b.pedal == SwellPedal::lever && !b.hitches.empty()) {
    std::vector<float> out;
    for (const double h : b.hitches) out.push_back(static_cast<float>(h));
    return out;
  }
  return {0.0F, 0.5F, 1.0F};
}

std::string box_words(std::optional<BoxIndex> box, float opening) {
  if (!box) return "";
  if (opening <= 0.01F) return "box shut";
  if (opening >= 0.99F) return "box open";
  return opening < 0.5F ? "box a little open" : "box half open";
}

}  // namespace calcant
