// How a hymn is played over, and the time between its stretches.
#include <algorithm>

#include "engine/plan/hymn.hpp"
#include "engine/plan/moves.hpp"

namespace calcant {

std::string_view word(PlayOver p) {
  switch (p) {
    case PlayOver::first_line: return "first line";
    case PlayOver::last_line: return "last line";
    case PlayOver::first_and_last: return "first line and last line";
    case PlayOver::whole: return "the whole tune";
    case PlayOver::none: break;
  }
  return "none";
}

HymnGap gap_before(const Hymn& hymn, const Item& item, std::size_t section, bool pedals) {
  const Section& last = item.sections[section - 1];
  const Section& to = item.sections[section];
  if (hymn.kind == ItemKind::piece) {
    const auto& before = hymn.verses[static_cast<std::size_t>(std::max(to.from.verse, 1)) - 1].before;
    const Seconds time = before.value_or(at_leisure);
    return {time, time, time, time};
  }
  if (last.kind == word(VerseKind::unaccompanied)) return {at_leisure, at_leisure, at_leisure, at_leisure};
  const double quarter = 60 / hymn.quarters_per_minute;
  // One hand can be spared where the feet have the bass and both hands are on one manual.
  const bool spared = pedals && last.keyboards.feet && last.keyboards.right == last.keyboards.left;
  const Seconds chord{spared ? std::max(0.0, hymn.last_chord_quarters - stroke_quarters) * quarter : 0};
  const bool within = last.from.verse == to.from.verse && last.from.verse > 0;
  const Seconds gap{(!within                        ? hymn.gap_quarters
                     : hymn.kind == ItemKind::psalm ? hymn.half_gap_quarters
                                                    : 0) *
                    quarter};
  return {(hymn.left_spared ? chord : Seconds{0}) + gap, (hymn.right_spared ? chord : Seconds{0}) + gap, gap,
          last.keyboards.feet ? gap : at_leisure};
}

}  // namespace calcant
