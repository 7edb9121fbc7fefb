#include "engine/registration/buildup_series.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace calcant {
namespace {

constexpr float not_drawn = -1.0F;
constexpr double warning_cost = 0.5;
constexpr double early_cost =
    1.0;  // a reed before its division's mixture, what is coupled over 8 and 4 ft before the manual's own 4 ft

// Where a stop stands in its division's chorus.
enum class Role { eight, four, two, mutation, mixture, sixteen, reed_eight, reed_four, reed_sixteen, other };

Role role_of(const Stop& s) {
  if (s.mixture_ranks != 0) return Role::mixture;
  if (s.feet.size() != 1) return Role::mutation;
  const int semitones = s.feet.front().semitones();
  const bool reed = s.family == Family::reed;
  if (semitones <= -12) return reed ? Role::reed_sixteen : Role::sixteen;
  if (semitones == 0) return reed ? Role::reed_eight : Role::eight;
  if (semitones == 12) return reed ? Role::reed_four : Role::four;
  if (reed) return Role::other;
  return semitones % 12 == 0 ? Role::two : Role::mutation;
}

}  // namespace

BuildUpSeries::BuildUpSeries(Chooser& chooser, const BuildUpFrame& frame, const BuildUpWish& wish)
    : chooser_(chooser), space_(chooser.space()) {
  find_bits(frame, wish);
  find_boxes();
  find_foundations();
  find_levels();
  find_ends(wish);
}

void BuildUpSeries::find_bits(const BuildUpFrame& frame, const BuildUpWish& wish) {
  const Organ& organ = chooser_.organ();
  for (std::size_t i = 0; i < space_.stops().size(); ++i) {
    if (frame.knobs.stops.test(static_cast<std::size_t>(space_.stops()[i]))) stops_.push_back(static_cast<int>(i));
  }
  always_.couplers = wish.must.couplers;
  std::vector<std::pair<DivisionIndex, std::size_t>> brought;
  for (const CouplerIndex c : space_.couplers()) {
    if (!frame.knobs.couplers.test(static_cast<std::size_t>(c)) || wish.must.couplers.test(static_cast<std::size_t>(c)))
      continue;
    brought.emplace_back(organ.couplers[static_cast<std::size_t>(c)].to, couplers_.size());
    coupled_.push_back({Bits{1} << (stops_.size() + couplers_.size()), 0});
    couplers_.push_back(c);
  }
  for (std::size_t i = 0; i < stops_.size(); ++i) {
    const StopIndex stop = space_.stops()[static_cast<std::size_t>(stops_[i])];
    const DivisionIndex division = organ.stops[static_cast<std::size_t>(stop)].division;
    const auto by = std::find_if(brought.begin(), brought.end(), [&](const auto& b) { return b.first == division; });
    if (by != brought.end()) coupled_[by->second].stops |= Bits{1} << i;
    if (wish.must.stops.test(static_cast<std::size_t>(stop))) must_ |= Bits{1} << i;
    if (wish.to_full && frame.full.stops.test(static_cast<std::size_t>(stop))) full_ |= Bits{1} << i;
  }
  for (std::size_t c = 0; c < couplers_.size(); ++c) {
    if (wish.to_full && frame.full.couplers.test(static_cast<std::size_t>(couplers_[c]))) full_ |= coupled_[c].bit;
  }
  for (std::size_t drawn = 0; drawn < std::size_t{1} << couplers_.size(); ++drawn) {
    Registration couplers = always_;
    for (std::size_t c = 0; c < couplers_.size(); ++c) {
      if ((drawn >> c & 1) != 0) couplers.couplers.set(static_cast<std::size_t>(couplers_[c]));
    }
    const auto state = space_.state(couplers);
    linkings_.push_back(state ? state->linking : space_.linkings().size());
  }
}

void BuildUpSeries::find_boxes() {
  std::vector<std::vector<std::uint8_t>> of(linkings_.size(), std::vector<std::uint8_t>(stops_.size(), 0));
  for (std::size_t l = 0; l < linkings_.size(); ++l) {
    if (linkings_[l] >= space_.linkings().size()) continue;
    for (const auto& groups : space_.linkings()[linkings_[l]].groups) {
      for (const Group& g : groups) {
        if (!g.box) continue;
        auto at = std::find(boxes_.begin(), boxes_.end(), *g.box);
        for (std::size_t i = 0; i < stops_.size(); ++i) {
          if ((g.stops >> stops_[i] & 1) == 0) continue;
          if (at == boxes_.end()) at = boxes_.insert(at, *g.box);
          of[l][i] |= static_cast<std::uint8_t>(1U << static_cast<unsigned>(at - boxes_.begin()));
        }
      }
    }
  }
  for (std::size_t i = 0; i < stops_.size(); ++i) {
    const Role at = role_of(stop(i));
    const bool big = at == Role::mixture || at == Role::reed_eight || at == Role::reed_four || at == Role::reed_sixteen;
    std::uint8_t boxes = 0;
    for (const auto& by_stop : of) boxes |= by_stop[i];
    big_.push_back(big ? boxes : std::uint8_t{0});
  }
  for (BoxPositions p : chooser_.boxes()) {
    for (std::size_t b = 0; b < p.size(); ++b) {
      if (std::find(boxes_.begin(), boxes_.end(), static_cast<BoxIndex>(b)) == boxes_.end()) p[b] = 1;
    }
    if (std::find(positions_.begin(), positions_.end(), p) == positions_.end()) positions_.push_back(p);
  }
  used_.assign(linkings_.size() << stops_.size(), 0);
  for (std::size_t set = 0; set < used_.size(); ++set) {
    for (std::size_t i = 0; i < stops_.size(); ++i) {
      if ((set >> i & 1) != 0) used_[set] |= of[set >> stops_.size()][i];
    }
  }
}

// What a stop is drawn over, in its own division as far as it has that (R1 to R4, R10, R13): from 8 ft upwards; what is no
// flute and no string over the principals at 8 and 4 ft, mutations and mixtures over 2 ft as well, 16 ft last of the flues,
// the other reeds over one at 8 ft. And what it comes too early without.
void BuildUpSeries::find_foundations() {
  // Of a division: all at one place, or its principals there where it has any.
  const auto at = [&](DivisionIndex division, Role role, bool principals) {
    Bits all = 0;
    Bits firm = 0;
    for (std::size_t o = 0; o < stops_.size(); ++o) {
      const Stop& s = stop(o);
      if (s.division != division || s.celeste || role_of(s) != role) continue;
      all |= Bits{1} << o;
      if (s.family == Family::principal) firm |= Bits{1} << o;
    }
    return principals && firm != 0 ? firm : all;
  };
  const DivisionIndex home = chooser_.organ().keyboards[static_cast<std::size_t>(chooser_.on())].division;
  for (std::size_t i = 0; i < stops_.size(); ++i) {
    const Stop& s = stop(i);
    const Role mine = role_of(s);
    const bool firm = mine == Role::mixture || (s.family != Family::flute && s.family != Family::string);
    const bool reed = s.family == Family::reed;
    const Bits two = at(s.division, Role::two, false);
    const Bits top = at(s.division, Role::mixture, false) != 0 ? at(s.division, Role::mixture, false) : two;
    std::vector<Bits>& over = over_.emplace_back();
    std::vector<Bits>& early = early_.emplace_back();
    const auto needs = [](std::vector<Bits>& all, Bits one_of) {
      if (one_of != 0) all.push_back(one_of);
    };
    if (mine == Role::eight) continue;
    needs(over, at(s.division, Role::eight, firm || mine == Role::sixteen));
    if (mine == Role::four) continue;
    needs(over, at(s.division, Role::four, firm || mine == Role::sixteen));
    if (mine == Role::mutation || mine == Role::mixture) needs(over, two);
    if (mine == Role::sixteen) needs(over, top);
    if (mine == Role::reed_four || mine == Role::reed_sixteen) needs(over, at(s.division, Role::reed_eight, false));
    if (reed) needs(early, top);
    else needs(early, at(s.division, Role::eight, true));
    if (s.division != home) needs(early, at(home, Role::four, true));
  }
}

const Stop& BuildUpSeries::stop(std::size_t bit) const {
  const StopIndex s = space_.stops()[static_cast<std::size_t>(stops_[bit])];
  return chooser_.organ().stops[static_cast<std::size_t>(s)];
}

bool BuildUpSeries::founded(Bits set) const {
  for (std::size_t i = 0; i < stops_.size(); ++i) {
    if ((set >> i & 1) == 0) continue;
    for (const Bits one_of : over_[i]) {
      if ((set & one_of) == 0) return false;
    }
  }
  return true;
}

int BuildUpSeries::early(Bits set) const {
  int out = 0;
  for (std::size_t i = 0; i < stops_.size(); ++i) {
    if ((set >> i & 1) == 0) continue;
    for (const Bits one_of : early_[i]) out += (set & one_of) == 0 ? 1 : 0;
  }
  return out;
}

bool BuildUpSeries::stand(Bits set, std::size_t p, const BoxPositions& so) const {
  for (std::size_t b = 0; b < boxes_.size(); ++b) {
    const auto box = static_cast<std::size_t>(boxes_[b]);
    if ((used_[set] >> b & 1) != 0 && positions_[p][box] != so[box]) return false;
  }
  return true;
}

StopMask BuildUpSeries::mask(Bits set) const {
  StopMask out = 0;
  for (std::size_t i = 0; i < stops_.size(); ++i) {
    if ((set >> i & 1) != 0) out |= StopMask{1} << stops_[i];
  }
  return out;
}

// Levels of what may be drawn. Of registrations that sound alike the map keeps one: where a box has nothing to do, its
// positions are levelled here.
void BuildUpSeries::find_levels() {
  const std::size_t sets = used_.size();
  level_.assign(sets * positions_.size(), not_drawn);
  against_.assign(sets, 0);
  std::vector<Bits> couplers_of(space_.linkings().size(), ~Bits{0});
  for (std::size_t l = 0; l < linkings_.size(); ++l) {
    if (linkings_[l] < couplers_of.size()) couplers_of[linkings_[l]] = static_cast<Bits>(l << stops_.size());
  }
  StopMask all = 0;
  for (const int s : stops_) all |= StopMask{1} << s;
  chooser_.map()->for_each([&](const MapState& s) {
    if (couplers_of[s.linking] == ~Bits{0} || (s.stops & ~all) != 0) return;
    Bits set = couplers_of[s.linking];
    for (std::size_t i = 0; i < stops_.size(); ++i) set |= static_cast<Bits>(s.stops >> stops_[i] & 1) << i;
    for (std::size_t p = 0; p < positions_.size(); ++p) {
      if (stand(set, p, s.box)) level_[set * positions_.size() + p] = s.figures.phons;
    }
  });
  for (std::size_t set = 0; set < sets; ++set) {
    float* const levels = level_.data() + set * positions_.size();
    const auto bits = static_cast<Bits>(set);
    const bool allowed = *std::max_element(levels, levels + positions_.size()) > 0 && (must_ & ~bits) == 0 &&
                         founded(bits) && chooser_.practice().allows(linking(bits), mask(bits), Manner::chorus) &&
                         chooser_.practice().makeshifts(linking(bits), mask(bits)) == 0;
    if (!allowed) {
      std::fill(levels, levels + positions_.size(), not_drawn);
      continue;
    }
    allowed_.push_back(bits);
    against_[set] = warning_cost * chooser_.practice().warnings(linking(bits), mask(bits)) + early_cost * early(bits);
  }
}

bool BuildUpSeries::may_end(Bits set, std::size_t p) const {
  BoxPositions open;
  open.fill(1);
  return (full_ & ~set) == 0 && (full_ == 0 || stand(set, p, open));
}

void BuildUpSeries::find_ends(const BuildUpWish& wish) {
  const auto each = [&](auto&& visit) {
    for (const Bits set : allowed_) {
      for (std::size_t p = 0; p < positions_.size(); ++p) {
        if (level(set, p) >= 0) visit(set, p, level(set, p));
      }
    }
  };
  // What full has may not all go together with what must be drawn: then it ends at its level alone.
  bool ends = false;
  each([&](Bits set, std::size_t p, double) { ends = ends || may_end(set, p); });
  if (!ends) full_ = 0;
  double begins_at = nowhere;
  double ends_at = nowhere;
  each([&](Bits set, std::size_t p, double here) {
    softest_ = std::min(softest_, here);
    loudest_ = std::max(loudest_, here);
    if (std::abs(here - wish.from.value()) < std::abs(begins_at - wish.from.value())) begins_at = here;
    if (may_end(set, p) && std::abs(here - wish.to.value()) < std::abs(ends_at - wish.to.value())) ends_at = here;
  });
  from_ = std::abs(begins_at - wish.from.value()) > end_near && possible() ? Phons{begins_at} : wish.from;
  to_ = std::abs(ends_at - wish.to.value()) > end_near && possible() ? Phons{ends_at} : wish.to;
}

Registration BuildUpSeries::registration(Bits set, std::size_t p) const {
  Registration boxes;
  boxes.box = positions_[p];
  return space_.registration(linking(set), mask(set), boxes);
}

}  // namespace calcant
