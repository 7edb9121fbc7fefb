// An organ of the demo, heard in its nave, for the tests of this folder.
#pragma once

#include <string>

#include "engine/listening/listening.hpp"
#include "engine/registration/rules.hpp"
#include "files/organfile/organfile.hpp"
#include "files/words/words.hpp"

namespace calcant {

struct ChurchOrgan {
  ChurchOrgan(const std::string& folder, const std::string& board)
      : organ(read_organ_folder(folder)->organ),
        nave(organ, usual_condition(organ)),
        on(*keyboard_by_id(organ, board)) {}
  [[nodiscard]] Registration draw(const std::string& words) const {
    Registration r = *parse_registration(organ, words);
    return r;
  }
  Organ organ;
  Listening nave;
  KeyboardIndex on;
};

// Practice::against_soft once more.
inline double soft_by_the_book(const Organ& organ, const Registration& drawn, KeyboardIndex on, int played) {
  bool two = false;
  bool mixture = false;
  bool reed = false;
  bool octaves = false;
  for (const HeardStop& h : heard_from(organ, drawn, on)) {
    const Stop& s = organ.stops[static_cast<std::size_t>(h.stop)];
    two = two || (s.mixture_ranks == 0 && h.semitones + played == 24);
    mixture = mixture || s.mixture_ranks != 0;
    reed = reed || (s.family == Family::reed && !s.tremulous_solo);
  }
  for (std::size_t c = 0; c < organ.couplers.size(); ++c) {
    octaves = octaves || (drawn.couplers.test(c) && organ.couplers[c].semitones != 0);
  }
  return (two ? 0.6 : 0) + (mixture ? 2.0 : 0) + (reed ? 1.5 : 0) + (octaves ? 1.0 : 0);
}

// Practice::makeshifts once more, from what a keyboard draws on.
inline int makeshifts_by_the_book(const Organ& organ, const Registration& drawn, KeyboardIndex on, int played) {
  Registration plain = drawn;
  bool octaves = false;
  for (std::size_t c = 0; c < organ.couplers.size(); ++c) {
    if (!drawn.couplers.test(c) || organ.couplers[c].semitones == 0) continue;
    octaves = true;
    plain.couplers.reset(c);
  }
  bool four = false;
  bool sturdy = false;
  for (const HeardStop& h : heard_from(organ, plain, on)) {
    const Stop& s = organ.stops[static_cast<std::size_t>(h.stop)];
    if (s.mixture_ranks != 0) continue;
    four = four || (h.semitones + played == 12 && s.family != Family::reed);
    if (h.semitones + played != 0 || s.family == Family::reed) continue;
    sturdy = sturdy || s.family != Family::string;
  }
  bool mixture = false;
  bool upper = false;
  bool sixteen = false;
  bool reed = false;
  bool clarion = false;
  bool mutation = false;
  for (const HeardStop& h : heard_from(organ, drawn, on)) {
    const Stop& s = organ.stops[static_cast<std::size_t>(h.stop)];
    const int at = h.semitones + played;
    mixture = mixture || s.mixture_ranks != 0;
    const bool strong = s.family == Family::principal || s.family == Family::reed;
    upper = upper || (strong && (at == 12 || at == 24));
    sixteen = sixteen || at == -12;
    reed = reed || (at == 0 && s.family == Family::reed);
    clarion = clarion || (at == 12 && s.family == Family::reed);
    mutation = mutation || (s.mixture_ranks == 0 && at > 19 && at % 12 != 0);
  }
  return (octaves && !four) + (mixture && !four) + ((mixture || upper) && !sturdy) + (played < 0 && sixteen) +
         (reed && !sturdy) + (clarion && !reed) + (mutation && !four);
}

}  // namespace calcant
