#include "engine/plan/objective.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "engine/registration/rules.hpp"

namespace calcant {
namespace {

constexpr double far = 2;                  // units off its level from where on it counts in a straight line
constexpr double under_the_singers = 1.5;  // R40, for each phon
constexpr double off_colour = 3.0;         // for a tone of e-fold wrongness; a tenth is a clear shade
constexpr double no_four = 0.8;            // R36
constexpr double no_open = 0.5;            // R4, R36
constexpr double not_leading = 1.0;
constexpr double no_four_for_singers = 1.6;  // the least that leads a hymn is 8 and 4
constexpr double no_open_for_singers = 0.8;  // they are led by diapasons, from the Great
constexpr double not_leading_singers = 2.2;
constexpr double no_upperwork = 0.5;                // R4: full is bright
constexpr double soft_share = SoftPractice::below;  // below, a soft verse: these do not hold
constexpr double full_share = 0.8;
constexpr double crowned_share = 0.9;  // ff and full: all that R4 draws before the octave coupler
constexpr double no_crown = 0.8;       // without a reed, without a mixture

constexpr double not_as_asked = 8;  // a mixture or a reed that a word leaves out or wants

constexpr double per_knob = 0.2;
constexpr double per_knob_psalm = 0.6;
constexpr double per_knob_before = 0.05;
constexpr double per_knob_at_rests = 0.1;
constexpr double box_moved = 0.1;
constexpr double keyboard_changed = 0.05;
constexpr double crossways = 0.3;
constexpr double meant = 0.7;          // phon: less is no rise and no fall
constexpr double contrast_meant = 2;   // phon: so much asked for wants a step that is heard
constexpr double step_heard = 2;       // phon
constexpr double no_contrast = 1.0;    // for each phon missing of it
constexpr double colour_meant = 0.5;   // what words mean to differ by in colour
constexpr double shade_heard = 0.08;   // of brightness, e-fold: a clear shade
constexpr double a_helper = 5.0;       // somebody else must draw it
constexpr double second_short = 25.0;  // of a hymn's gap: nobody waits for the organ

}  // namespace

double own_cost(const Aim& aim, const Shade& s) {
  if ((aim.right && s.on.right != aim.right) || (aim.left && s.on.left != aim.left))
    return std::numeric_limits<double>::infinity();
  const Phons level = aim.of_the_hands ? s.hands : s.loudness;
  const double off = std::max(0.0, std::abs((level - aim.target).value()) - aim.near_enough) / aim.unit;
  double cost = (off <= far ? off * off : far * (2 * off - far)) + s.against;
  if (aim.floor > Phons{0} && !aim.tune_alone)
    cost += under_the_singers * std::max(0.0, (aim.floor - s.loudness).value());
  if (aim.colour != 0) cost += off_colour * std::max(0.0, 0.1 - aim.colour * s.tone);
  if (aim.share < soft_share)
    cost += (s.two ? SoftPractice::upperwork : 0) + (s.mixture ? SoftPractice::mixture : 0) +
            (s.loud_reed ? SoftPractice::reed : 0);
  if (aim.led && !aim.tune_alone && aim.share >= soft_share) {
    const bool singers = aim.floor > Phons{0};
    cost += (s.four    ? 0
             : singers ? no_four_for_singers
                       : no_four) +
            (s.open8   ? 0
             : singers ? no_open_for_singers
                       : no_open) +
            (s.leading ? 0
             : singers ? not_leading_singers
                       : not_leading) +
            (s.two || aim.share < full_share ? 0 : no_upperwork);
    if (aim.share >= crowned_share) cost += (s.reed ? 0 : no_crown) + (s.mixture ? 0 : no_crown);
  }
  return cost;
}

double unasked_stops(const StopsAsked& asked, const Shade& s) {
  return not_as_asked * ((asked.mixture && *asked.mixture != s.mixture) + (asked.reed && *asked.reed != s.reed));
}

double step_cost(const KnobCount& knobs, Step where, bool other_keyboards) {
  const double knob = where == Step::between_items    ? per_knob_before
                      : where == Step::at_rests       ? per_knob_at_rests
                      : where == Step::between_verses ? per_knob_psalm
                                                      : per_knob;
  const double scale = where == Step::between_items ? per_knob_before / per_knob : 1;
  return knob * knobs.all() + scale * (box_moved * knobs.boxes + (other_keyboards ? keyboard_changed : 0));
}

double crossways_cost(const Registration& from, const Registration& to, double rise) {
  return crossways_cost(static_cast<int>((from.stops & ~to.stops).count()),
                        static_cast<int>((to.stops & ~from.stops).count()), rise);
}

double crossways_cost(int put_in, int drawn, double rise) {
  if (rise > meant) return crossways * put_in;
  if (rise < -meant) return crossways * drawn;
  return 0;
}

double contrast_cost(double wanted, double had) {
  if (std::abs(wanted) < contrast_meant) return 0;
  return no_contrast * std::max(0.0, step_heard - (wanted > 0 ? had : -had));
}

double unheard(const Aim& before, const Aim& aim, const Shade& from, const Shade& to, double least_rise) {
  const double rise = (aim.target - before.target).value();
  // A word that says no colour asks for none, and one that says dark is not brighter than a darker one.
  const double shade = aim.colour * (aim.colour - before.colour) > 0 ? aim.colour - before.colour : 0;
  double heard = 0;
  bool meant_so = false;
  const auto count = [&](double asked, double least, double had, double step) {
    if (std::abs(asked) < least) return;
    meant_so = true;
    heard = std::max(heard, std::clamp((asked > 0 ? had : -had) / step, 0.0, 1.0));
  };
  count(rise, least_rise, (to.loudness - from.loudness).value(), step_heard);
  if (to.brightness.value() > 0 && from.brightness.value() > 0)
    count(shade, colour_meant, std::log(to.brightness.value() / from.brightness.value()), shade_heard);
  return meant_so ? 1 - heard : 0;
}

double too_late_cost(Seconds lacking, Step where) {
  if (where == Step::between_items || lacking <= Seconds{0}) return 0;
  return a_helper + second_short * lacking.value();
}

}  // namespace calcant
