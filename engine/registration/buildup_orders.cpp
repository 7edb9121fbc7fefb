// The orders in which stops are usually drawn, as far as an organ has them.
#include <algorithm>
#include <cmath>

#include "engine/organ/knob.hpp"
#include "engine/registration/buildup.hpp"

namespace calcant {
namespace {

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
  Order(const Organ& organ, KeyboardIndex on, const Registration& first, const Registration& last)
      : organ_(organ), last_(last), home_(organ.keyboards[static_cast<std::size_t>(on)].division), now_(first) {
    for (std::size_t c = 0; c < organ.couplers.size() && !coupled_; ++c) {
      const Coupler& x = organ.couplers[c];
      if (!last.couplers.test(c) || x.unison_off || x.from != on || x.semitones != 0 || x.to == home_) continue;
      coupled_ = x.to;
      coupler_ = c;
    }
    stage();
  }

  std::vector<Registration> usual() {
    open(home_);
    own({Family::string}, eight, 1);
    own({Family::flute}, eight, 9);
    own({Family::flute}, four, 9);
    own({Family::principal}, eight, 9);
    own({Family::principal}, four, 9);
    couple();
    return rest();
  }
  std::vector<Registration> swell_first() {
    if (!coupled_) return {};
    open(home_);
    couple();
    own({Family::flute}, eight, 9);
    own({Family::flute}, four, 9);
    own({Family::principal}, eight, 9);
    own({Family::principal}, four, 9);
    return rest();
  }

 private:
  std::vector<Registration> rest() {
    own({Family::principal, Family::flute}, two, 9, true);
    if (coupled_) {
      draw(*coupled_, {Family::reed}, eight, 9);
      stage();
    }
    mixtures(home_);
    if (coupled_) mixtures(*coupled_);
    stage();
    draw(home_, {Family::principal, Family::flute}, sixteen, 1);
    if (coupled_) draw(*coupled_, {Family::principal, Family::flute}, sixteen, 1);
    stage();
    now_ = last_;
    stage();
    return std::move(series_);
  }
  void own(const std::vector<Family>& families, int pitch, int most, bool twelfth_too = false) {
    draw(home_, families, pitch, most);
    if (twelfth_too) draw(home_, {Family::principal}, twelfth, 1);
    stage();
  }
  // The coupled division's 8 and 4 ft flues, with its coupler and its box shut; then the box opens.
  void couple() {
    if (!coupled_) return;
    if (!now_.couplers.test(coupler_)) {
      if (const auto box = box_of(*coupled_)) now_.box[*box] = 0;
    }
    now_.couplers.set(coupler_);
    draw(*coupled_, {Family::principal, Family::flute, Family::string}, eight, 9);
    draw(*coupled_, {Family::principal, Family::flute}, four, 9);
    stage();
    open(*coupled_);
  }
  void draw(DivisionIndex division, const std::vector<Family>& families, int pitch, int most) {
    for (std::size_t s = 0; s < organ_.stops.size() && most > 0; ++s) {
      const Stop& stop = organ_.stops[s];
      if (stop.division != division || !last_.stops.test(s) || pitch_of(stop) != pitch || stop.mixture_ranks != 0 ||
          std::find(families.begin(), families.end(), stop.family) == families.end()) {
        continue;
      }
      now_.stops.set(s);
      --most;
    }
  }
  void mixtures(DivisionIndex division) {
    for (std::size_t s = 0; s < organ_.stops.size(); ++s) {
      if (organ_.stops[s].division == division && organ_.stops[s].mixture_ranks != 0 && last_.stops.test(s))
        now_.stops.set(s);
    }
  }
  void stage() {
    if (series_.empty() || series_.back() != now_) series_.push_back(now_);
  }
  [[nodiscard]] std::optional<std::size_t> box_of(DivisionIndex division) const {
    const auto box = organ_.divisions[static_cast<std::size_t>(division)].box;
    return box ? std::optional{static_cast<std::size_t>(*box)} : std::nullopt;
  }
  // By a place where the pedal can stay, half-way or about.
  void open(DivisionIndex division) {
    const auto box = box_of(division);
    if (!box) return;
    const float most = last_.box[*box];
    float half = most;
    for (const BoxPositions& p : box_positions(organ_)) {
      if (p[*box] > now_.box[*box] && p[*box] < most && std::abs(p[*box] - 0.5F) < std::abs(half - 0.5F))
        half = p[*box];
    }
    for (const float opening : {half, most}) {
      now_.box[*box] = std::max(now_.box[*box], opening);
      stage();
    }
  }

  const Organ& organ_;
  const Registration& last_;
  DivisionIndex home_;
  std::optional<DivisionIndex> coupled_;
  std::size_t coupler_ = 0;
  Registration now_;
  std::vector<Registration> series_;
};

}  // namespace

std::vector<Registration> usual_order(const Organ& organ, KeyboardIndex on, bool swell_first, const Registration& first,
                                      const Registration& last) {
  Order order{organ, on, first, last};
  return swell_first ? order.swell_first() : order.usual();
}

}  // namespace calcant
