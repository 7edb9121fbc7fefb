#include "engine/plan/two_voices.hpp"

#include <algorithm>
#include <cmath>

namespace calcant {
namespace {

// In the currency of the search (docs/design/plan.md); figures ours.
constexpr double solo_off = 1.0;       // for each phon outside
constexpr double solo_diapason = 0.3;  // a diapason sings, a flute less
constexpr double solo_flute = 0.6;
constexpr double solo_thick = 1.0;       // each 8 ft flue besides one: a chorus of unisons has no character of its own
constexpr double trio_near = 1.5;        // phon between the voices of a trio that nobody minds
constexpr double trio_apart = 0.6;       // for each phon beyond
constexpr double trio_alike = 0.8;       // the two voices of one colour
constexpr double trio_one_colour = 0.1;  // log of the brightness of one over the other's below which they are
constexpr double trio_without_four = 0.5;
constexpr double trio_on_a_string = 0.4;  // slow to speak, and often without a bass of its own
constexpr double trio_thick = 0.3;        // two 8 ft, a reed or a mixture in one voice

double off_solo(double above) {
  return solo_off * (std::max(0.0, solo_margin - above) + std::max(0.0, above - solo_most));
}

double off_trio(const QuickScales::Figures& a, const QuickScales::Figures& b) {
  const double apart = std::abs((a.loudness - b.loudness).value());
  const double colour = std::abs(std::log(std::max(a.brightness.value(), 1e-3) / std::max(b.brightness.value(), 1e-3)));
  return trio_apart * std::max(0.0, apart - trio_near) + (colour < trio_one_colour ? trio_alike : 0);
}

double against_solo_voice(const Organ& organ, const Voicing& tune) {
  double best = solo_flute;
  int flues = 0;
  for (const StopIndex s : tune.stops) {
    const Stop& stop = organ.stops[static_cast<std::size_t>(s)];
    const ChorusPart part = chorus_part(stop);
    flues += part == ChorusPart::principal8 || part == ChorusPart::flute8 || part == ChorusPart::string8;
    if (stop.tremulous_solo || stop.family == Family::reed) best = std::min(best, 0.0);
    else if (stop.family == Family::principal) best = std::min(best, solo_diapason);
  }
  return best + solo_thick * std::max(0, flues - 1);
}

double against_trio_voice(const Organ& organ, const Voicing& voice) {
  int flues = 0;
  int strings = 0;
  int fours = 0;
  double cost = 0;
  for (const StopIndex s : voice.stops) {
    switch (chorus_part(organ.stops[static_cast<std::size_t>(s)])) {
      case ChorusPart::flute8:
      case ChorusPart::principal8: ++flues; break;
      case ChorusPart::string8: ++strings; break;
      case ChorusPart::flute4:
      case ChorusPart::principal4: ++fours; break;
      case ChorusPart::reed8:
      case ChorusPart::mixture: cost += trio_thick; break;
      default: break;
    }
  }
  if (fours == 0) cost += trio_without_four;
  if (flues == 0 && strings > 0) cost += trio_on_a_string;
  if (flues + strings > 1) cost += trio_thick;
  return cost;
}

}  // namespace

bool is_solo_voice(const Organ& organ, const Voicing& tune) {
  bool voice = false;
  for (const StopIndex s : tune.stops) {
    switch (chorus_part(organ.stops[static_cast<std::size_t>(s)])) {
      case ChorusPart::reed8:
      case ChorusPart::principal8:
      case ChorusPart::flute8: voice = true; break;
      case ChorusPart::string8:
      case ChorusPart::flute4: break;
      default: return false;  // a chorus
    }
  }
  return voice;
}

std::size_t most_stops(Placing placing, bool left) { return left && placing == Placing::solo ? 2 : 3; }

double against_voices(const Organ& organ, Placing placing, const Voicing& right, const Voicing& left,
                      const QuickScales::Figures& right_heard, const QuickScales::Figures& left_heard) {
  if (placing == Placing::trio)
    return off_trio(right_heard, left_heard) + against_trio_voice(organ, right) + against_trio_voice(organ, left);
  return off_solo((right_heard.loudness - left_heard.loudness).value()) + against_solo_voice(organ, right);
}

}  // namespace calcant
