#include "engine/plan/pedal_fit.hpp"

#include <algorithm>

#include "engine/plan/chorus.hpp"
#include "engine/plan/lower_hand.hpp"
#include "engine/registration/rules.hpp"

namespace calcant {
namespace {

// In the currency of the search (docs/design/plan.md); figures ours.
constexpr double out_of_bounds = 30;  // R16: louder than it may be, where any choice is not that is made
constexpr double over = 0.5;          // for each phon beyond
constexpr double under = 0.3;         // for each phon beyond
constexpr double foundation = 6;      // R16: phon the pedal's own 16 ft may be under the hands
constexpr double too_soft =
    0.025;  // for each phon beyond: of two basses the one in balance, and a soft one before none
constexpr double without_coupler = 0.5;  // R17, where the pedal has no 8 ft of its own drawn
constexpr double on_its_own = 0.15;      // R17, where it has
constexpr double another = 1.2;          // R17: a coupler from where the hands are not
constexpr double of_a_voice = 0.5;       // R29: a trio's bass is a voice of its own
constexpr double without_eight = 0.5;    // R15
constexpr double without_sixteen = 1.0;  // R15

bool is_eight(const Stop& s) {
  return chorus_part(s) != ChorusPart::sixteen && !s.feet.empty() && s.feet.front().semitones() == 0;
}

}  // namespace

PedalFit::PedalFit(const Organ& organ, KeyboardIndex pedals, const std::vector<Knob>& never, Placing placing,
                   bool left_is_lower)
    : organ_(&organ), pedals_(pedals), never_(never), placing_(placing), left_is_lower_(left_is_lower) {
  for (std::size_t i = 0; i < organ.stops.size(); ++i) {
    const Stop& s = organ.stops[i];
    const Knob knob{Knob::Kind::stop, static_cast<int>(i)};
    if (s.division != home(pedals) || s.out_of_use || std::find(never.begin(), never.end(), knob) != never.end())
      continue;
    has_sixteen_ = has_sixteen_ || chorus_part(s) == ChorusPart::sixteen;
    has_eight_ = has_eight_ || is_eight(s);
  }
}

std::optional<CouplerIndex> PedalFit::follows(const HandsAndFeet& on) const {
  const auto bass = lower_hand(on, left_is_lower_);
  return bass ? unison_coupler(*organ_, pedals_, home(*bass), never_) : std::nullopt;
}

double PedalFit::against(const Registration& drawn, const HandsAndFeet& on, const PedalLevels& levels) const {
  if (levels.feet <= Phons{0}) return without_sixteen + without_eight;
  // What the coupler brings from under the hands is their own sound and in balance with them; what it brings from elsewhere
  // is the pedal's, as its stops are.
  const double excess = ((of_another(drawn, on) ? levels.feet : levels.own) - levels.hands).value() - pedal_over_phon;
  const double lost = (levels.hands - levels.feet).value() - pedal_buried_phon;
  const double soft = levels.sixteen > Phons{0} ? (levels.hands - levels.sixteen).value() - foundation : 0;
  return (excess > 0 ? out_of_bounds : 0) + over * std::max(0.0, excess) + under * std::max(0.0, lost) +
         too_soft * std::max(0.0, soft) + completeness(drawn) + coupling(drawn, on);
}

double PedalFit::completeness(const Registration& drawn) const {
  std::vector<bool> reached(organ_->divisions.size());
  reached[static_cast<std::size_t>(home(pedals_))] = true;
  for (std::size_t i = 0; i < organ_->couplers.size(); ++i) {
    const Coupler& c = organ_->couplers[i];
    if (drawn.couplers[i] && c.from == pedals_ && c.semitones == 0) reached[static_cast<std::size_t>(c.to)] = true;
  }
  bool sixteen = false;
  bool eight = false;
  for (std::size_t s = 0; s < organ_->stops.size(); ++s) {
    if (!drawn.stops[s]) continue;
    const Stop& stop = organ_->stops[s];
    if (!reached[static_cast<std::size_t>(stop.division)]) continue;
    sixteen = sixteen || chorus_part(stop) == ChorusPart::sixteen;
    eight = eight || is_eight(stop);
  }
  return (sixteen || !has_sixteen_ ? 0 : without_sixteen) + (eight ? 0 : without_eight);
}

double PedalFit::against_asked(const Registration& drawn, const HandsAndFeet& on,
                               const std::bitset<max_couplers>& asked) const {
  const auto own = follows(on);
  bool any = false;
  for (std::size_t i = 0; i < organ_->couplers.size(); ++i) {
    const Coupler& c = organ_->couplers[i];
    if (!drawn.couplers[i] || c.from != pedals_ || c.to == home(pedals_) || own == static_cast<CouplerIndex>(i))
      continue;
    if (!asked[i]) return 0;
    any = true;
  }
  return any ? another : 0;
}

bool PedalFit::of_another(const Registration& drawn, const HandsAndFeet& on) const {
  const auto coupler = follows(on);
  // What the hands have coupled on is under their fingers as well.
  const auto bass = lower_hand(on, left_is_lower_);
  const auto under_the_hands = [&](DivisionIndex d) {
    const auto to_hands = bass ? unison_coupler(*organ_, *bass, d, {}) : std::nullopt;
    return to_hands && drawn.couplers[static_cast<std::size_t>(*to_hands)];
  };
  for (std::size_t i = 0; i < organ_->couplers.size(); ++i) {
    const Coupler& c = organ_->couplers[i];
    if (!drawn.couplers[i] || c.from != pedals_ || c.to == home(pedals_) || under_the_hands(c.to)) continue;
    if (coupler != static_cast<CouplerIndex>(i)) return true;
  }
  return false;
}

double PedalFit::coupling(const Registration& drawn, const HandsAndFeet& on) const {
  const auto coupler = follows(on);
  const bool coupled = coupler && drawn.couplers[static_cast<std::size_t>(*coupler)];
  const double cost = of_another(drawn, on) ? another : 0;
  if (placing_ == Placing::trio) return cost + (coupled && has_eight_ ? of_a_voice : 0);
  if (coupled || !coupler) return cost;
  bool own_eight = false;
  for (std::size_t s = 0; s < organ_->stops.size(); ++s)
    own_eight =
        own_eight || (drawn.stops[s] && organ_->stops[s].division == home(pedals_) && is_eight(organ_->stops[s]));
  return cost + (own_eight ? on_its_own : without_coupler);
}

}  // namespace calcant
