// The orders in which stops are usually drawn, as far as an organ has them.
#include <algorithm>
#include <cmath>
#include <tuple>

#include "engine/organ/knob.hpp"
#include "engine/registration/buildup.hpp"

namespace calcant {
namespace {

constexpr std::ptrdiff_t enough_stops = 15;

// Semitones over 8 ft by which a stop is named, 12 for 4 ft; far away where it has no length or several (a mixture).
constexpr int sixteen = -12;
constexpr int eight = 0;
constexpr int four = 12;
constexpr int twelfth = 19;
constexpr int two = 24;
constexpr int no_one_pitch = 1000;
int pitch_of(const Stop& s) {
  return s.mixture_ranks != 0 || s.feet.size() != 1 ? no_one_pitch : s.feet.front().semitones();
}

class Order {
 public:
  Order(const Organ& organ, KeyboardIndex on, const Registration& forbidden)
      : organ_(organ), forbidden_(forbidden), home_(organ.keyboards[static_cast<std::size_t>(on)].division) {
    for (std::size_t c = 0; c < organ.couplers.size(); ++c) {
      const Coupler& x = organ.couplers[c];
      if (forbidden.couplers.test(c) || x.unison_off || x.from != on) continue;
      if (x.semitones == 0 && x.to != home_ && !coupled_) {
        coupled_ = x.to;
        coupler_ = static_cast<CouplerIndex>(c);
      }
    }
    for (std::size_t c = 0; c < organ.couplers.size(); ++c) {
      const Coupler& x = organ.couplers[c];
      if (forbidden.couplers.test(c) || x.semitones != 12) continue;
      const bool carried = coupler_ && std::find(organ.couplers[static_cast<std::size_t>(*coupler_)].carries.begin(),
                                                 organ.couplers[static_cast<std::size_t>(*coupler_)].carries.end(),
                                                 static_cast<CouplerIndex>(c)) !=
                                           organ.couplers[static_cast<std::size_t>(*coupler_)].carries.end();
      if ((x.from == on || carried) && !octave_) octave_ = static_cast<CouplerIndex>(c);
    }
  }

  std::vector<Registration> usual() {
    own({Family::string}, eight, 1);
    own({Family::flute}, eight, 9);
    own({Family::flute}, four, 9);
    own({Family::principal}, eight, 9);
    own({Family::principal}, four, 9);
    couple(1);
    rest();
    return std::move(series_);
  }
  std::vector<Registration> swell_first() {
    if (!coupled_) return {};
    if (!draw(home_, {Family::string}, eight, 1)) draw(home_, {Family::flute}, eight, 1);
    couple(0);
    for (const float opening : {0.5F, 1.0F}) {
      now_.box.fill(nearest_rest(opening));
      stage();
    }
    own({Family::flute}, eight, 9);
    own({Family::flute}, four, 9);
    own({Family::principal}, eight, 9);
    own({Family::principal}, four, 9);
    rest();
    return std::move(series_);
  }

 private:
  void rest() {
    own({Family::principal}, two, 9, true);
    if (coupled_) {
      draw(*coupled_, {Family::reed}, eight, 9);
      stage();
    }
    bool any = mixtures(home_);
    if (coupled_) any = mixtures(*coupled_) || any;
    if (any) stage();
    if (octave_ && coupled_) {
      now_.couplers.set(static_cast<std::size_t>(*octave_));
      stage();
    }
    bool doubles = draw(home_, {Family::principal, Family::flute}, sixteen, 1);
    if (coupled_) doubles = draw(*coupled_, {Family::principal, Family::flute}, sixteen, 1) || doubles;
    if (doubles) stage();
  }
  void own(std::vector<Family> families, int pitch, int most, bool twelfth_too = false) {
    bool any = draw(home_, families, pitch, most);
    if (any && twelfth_too) draw(home_, {Family::principal}, twelfth, 1);
    if (any) stage();
  }
  // The coupled division's 8 and 4 ft flues, with its coupler; the box as it is asked.
  void couple(float opening) {
    if (!coupled_) return;
    now_.box.fill(opening);
    now_.couplers.set(static_cast<std::size_t>(*coupler_));
    bool any = draw(*coupled_, {Family::principal, Family::flute, Family::string}, eight, 9);
    any = draw(*coupled_, {Family::principal, Family::flute}, four, 9) || any;
    if (any) stage();
    else now_.couplers.reset(static_cast<std::size_t>(*coupler_));
  }
  bool draw(DivisionIndex division, const std::vector<Family>& families, int pitch, int most) {
    int drawn = 0;
    for (std::size_t s = 0; s < organ_.stops.size() && drawn < most; ++s) {
      const Stop& stop = organ_.stops[s];
      if (stop.division != division || stop.celeste || stop.out_of_use || forbidden_.stops.test(s) ||
          now_.stops.test(s) || pitch_of(stop) != pitch ||
          std::find(families.begin(), families.end(), stop.family) == families.end()) {
        continue;
      }
      now_.stops.set(s);
      ++drawn;
    }
    return drawn > 0;
  }
  bool mixtures(DivisionIndex division) {
    bool any = false;
    for (std::size_t s = 0; s < organ_.stops.size(); ++s) {
      if (organ_.stops[s].division != division || organ_.stops[s].mixture_ranks == 0 || forbidden_.stops.test(s))
        continue;
      now_.stops.set(s);
      any = true;
    }
    return any;
  }
  void stage() {
    if (series_.empty() || series_.back() != now_) series_.push_back(now_);
  }
  // Where a box can stay that is nearest to this.
  [[nodiscard]] float nearest_rest(float opening) const {
    float best = 1;
    for (const BoxPositions& p : box_positions(organ_)) {
      if (std::abs(p[0] - opening) < std::abs(best - opening)) best = p[0];
    }
    return best;
  }

  const Organ& organ_;
  const Registration& forbidden_;
  DivisionIndex home_;
  std::optional<DivisionIndex> coupled_;
  std::optional<CouplerIndex> coupler_;
  std::optional<CouplerIndex> octave_;
  Registration now_;
  std::vector<Registration> series_;
};

}  // namespace

std::vector<Registration> usual_order(const Organ& organ, KeyboardIndex on, bool swell_first,
                                      const Registration& forbidden) {
  Order order{organ, on, forbidden};
  return swell_first ? order.swell_first() : order.usual();
}

Registration fewer_stops(const Organ& organ, KeyboardIndex on, const Registration& must) {
  const DivisionIndex home = organ.keyboards[static_cast<std::size_t>(on)].division;
  // The first division that a unison coupler brings; no other, and no octave couplers.
  Registration out;
  std::optional<DivisionIndex> coupled;
  const auto reaches = [&](const Stop& s) {
    return s.division == home || std::any_of(organ.couplers.begin(), organ.couplers.end(), [&](const Coupler& x) {
             return x.from == on && x.to == s.division && !x.unison_off;
           });
  };
  if (std::count_if(organ.stops.begin(), organ.stops.end(), reaches) <= enough_stops) return out;
  for (std::size_t c = 0; c < organ.couplers.size(); ++c) {
    const Coupler& x = organ.couplers[c];
    const bool first = x.from == on && x.to != home && x.semitones == 0 && !x.unison_off && !coupled;
    if (first) coupled = x.to;
    else if (!must.couplers.test(c)) out.couplers.set(c);
  }
  // One stop of a family and pitch in each division, the home division first; no celeste.
  std::vector<std::tuple<DivisionIndex, Family, int>> seen;
  auto kept = static_cast<std::ptrdiff_t>(must.stops.count());
  for (const bool own : {true, false}) {
    for (std::size_t s = 0; s < organ.stops.size(); ++s) {
      const Stop& stop = organ.stops[s];
      if ((stop.division == home) != own || must.stops.test(s)) continue;
      const std::tuple<DivisionIndex, Family, int> kind{stop.division, stop.family, pitch_of(stop)};
      const bool wanted = (own || (coupled && stop.division == *coupled)) && !stop.celeste && !stop.out_of_use &&
                          std::find(seen.begin(), seen.end(), kind) == seen.end() && kept < enough_stops;
      if (!wanted) {
        out.stops.set(s);
        continue;
      }
      seen.push_back(kind);
      ++kept;
    }
  }
  return out;
}

}  // namespace calcant
