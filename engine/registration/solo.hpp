// A tune on one manual, and an accompaniment under it on another.
#pragma once

#include <vector>

#include "engine/registration/choose.hpp"

namespace calcant {

// What a solo is weighed on: chords of three in the tenor on the one manual (C3 G3 E4; F3 C4 A4; G3 D4 B4), a note over
// each on the other (C5, F5, G5). Our choice.
struct SoloMoments {
  std::vector<KeysDown> accompaniment;
  std::vector<KeysDown> solo;
};
// Refuses a keyboard that lacks the keys, and twice the same.
[[nodiscard]] Result<SoloMoments> solo_moments(const Organ& organ, KeyboardIndex solo_on, KeyboardIndex under);

struct SoloWish {
  KeyboardIndex solo_on = 0;
  KeyboardIndex under = 0;
  Registration solo;            // what the tune is played on, as it is to stay
  double above = 2.0;           // phon a note of the solo stands over a chord of the accompaniment, by themselves
  double band = 4.0;            // phon either way
  Colour colour = Colour::any;  // of the accompaniment
  Registration must;            // of the accompaniment
  Registration must_not;
  int limit = 8;
};

struct SoloAnswer {
  Registration drawn;  // both
  Chosen accompaniment;
  double solo_phons = 0;           // by itself
  double accompaniment_phons = 0;  // by itself
  double together_phons = 0;
  Presence presence = Presence::hidden;  // of the solo among everything: the least of the moments
  Sones partial;                         // likewise
  double points = 0;
};

struct SoloChoice {
  std::vector<SoloAnswer> answers;  // best first
  double considered = 0;
};

// Refuses a solo that does not sound, and what Chooser refuses; stopped work.
[[nodiscard]] Result<SoloChoice> choose_solo(const Listening& listening, const SoloWish& wish, const Work& work);

}  // namespace calcant
