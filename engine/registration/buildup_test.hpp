// Foundation first, once more: what build-ups are held to, written from the names of stops.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "engine/registration/buildup.hpp"
#include "files/words/words.hpp"

namespace calcant {

// Of one division: how many are drawn, and whether the frame has any, by their place in the chorus.
struct DivisionDrawn {
  struct Count {
    int drawn = 0;
    int there = 0;
    // Drawn, as far as there is any.
    [[nodiscard]] bool right() const { return drawn > 0 || there == 0; }
  };
  Count eight, eight_firm, four, four_firm, two, mixture, reed_eight;
};

inline int feet_pitch(const Stop& s) { return s.feet.size() == 1 ? s.feet.front().semitones() : 1000; }

inline DivisionDrawn division_drawn(const Organ& organ, const BuildUpFrame& frame, const Registration& drawn,
                                    DivisionIndex division) {
  DivisionDrawn out;
  for (std::size_t i = 0; i < organ.stops.size(); ++i) {
    const Stop& s = organ.stops[i];
    if (s.division != division || s.celeste || !frame.knobs.stops.test(i)) continue;
    const auto count = [&](DivisionDrawn::Count& c) {
      ++c.there;
      c.drawn += drawn.stops.test(i) ? 1 : 0;
    };
    const bool principal = s.family == Family::principal;
    if (s.mixture_ranks != 0) count(out.mixture);
    else if (s.family == Family::reed && feet_pitch(s) == 0) count(out.reed_eight);
    else if (s.family == Family::reed) continue;
    else if (feet_pitch(s) == 0) {
      count(out.eight);
      if (principal) count(out.eight_firm);
    } else if (feet_pitch(s) == 12) {
      count(out.four);
      if (principal) count(out.four_firm);
    } else if (feet_pitch(s) == 24) count(out.two);
  }
  return out;
}

// The first thing that is wrong, or nothing.
inline std::string unfounded(const Organ& organ, const BuildUpFrame& frame, const Registration& drawn,
                             KeyboardIndex on) {
  const DivisionIndex home = organ.keyboards[static_cast<std::size_t>(on)].division;
  if (division_drawn(organ, frame, drawn, home).eight.drawn == 0) return "no 8 ft flue of the manual's own";
  for (std::size_t i = 0; i < organ.stops.size(); ++i) {
    const Stop& s = organ.stops[i];
    if (!drawn.stops.test(i)) continue;
    if (s.celeste) return "a celeste";
    const DivisionDrawn d = division_drawn(organ, frame, drawn, s.division);
    const int pitch = feet_pitch(s);
    const bool reed = s.family == Family::reed;
    const bool mixture = s.mixture_ranks != 0;
    const bool soft = !mixture && (s.family == Family::flute || s.family == Family::string);
    const std::string name = full_name(s);
    if (pitch == 0 && !reed) continue;
    if (!d.eight.right()) return name + " before an 8 ft flue";
    if ((!soft || pitch < 0) && !d.eight_firm.right()) return name + " before the Diapason";
    if (pitch == 12 && !reed) continue;
    if (!d.four.right()) return name + " before a 4 ft flue";
    if ((!soft || pitch < 0) && !d.four_firm.right()) return name + " before the Principal";
    const bool mutation = !mixture && !reed && pitch > 0 && pitch % 12 != 0;
    if ((mixture || mutation || pitch == 1000) && !d.two.right()) return name + " before a 2 ft";
    if (pitch < 0 && !reed && !(d.mixture.there > 0 ? d.mixture : d.two).right()) return name + " before the top";
    if (reed && pitch != 0 && !d.reed_eight.right()) return name + " before the 8 ft reed";
  }
  return {};
}

// What comes too early: a reed before its mixture (or 2 ft), what is over 8 and 4 ft before its division's Diapason, or,
// coupled, before the manual's own Principal.
inline int too_early(const Organ& organ, const BuildUpFrame& frame, const Registration& drawn, KeyboardIndex on) {
  const DivisionIndex home = organ.keyboards[static_cast<std::size_t>(on)].division;
  const DivisionDrawn own = division_drawn(organ, frame, drawn, home);
  int out = 0;
  for (std::size_t i = 0; i < organ.stops.size(); ++i) {
    const Stop& s = organ.stops[i];
    if (!drawn.stops.test(i)) continue;
    const DivisionDrawn d = division_drawn(organ, frame, drawn, s.division);
    const bool reed = s.family == Family::reed;
    if (!reed && (feet_pitch(s) == 0 || feet_pitch(s) == 12)) continue;
    if (reed) out += (d.mixture.there > 0 ? d.mixture : d.two).right() ? 0 : 1;
    else out += (d.eight_firm.there > 0 ? d.eight_firm : d.eight).right() ? 0 : 1;
    if (s.division != home) out += (own.four_firm.there > 0 ? own.four_firm : own.four).right() ? 0 : 1;
  }
  return out;
}

}  // namespace calcant
