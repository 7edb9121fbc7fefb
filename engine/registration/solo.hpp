// A tune on one manual, and an accompaniment under it on another.
#pragma once

#include <optional>
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

// Couplers by which the accompaniment would sound the solo's division as well, or the solo the accompaniment's.
[[nodiscard]] Registration shared_couplers(const Organ& organ, KeyboardIndex solo_on);

struct SoloWish {
  Registration solo;            // what the tune is played on, as it is to stay
  double above = 4.0;           // phon a note of the solo stands over a chord of the accompaniment, by themselves
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

// Two manuals, prepared once and asked one wish after another. Not thread-safe. The listening must outlive it.
class SoloChooser {
 public:
  // Couplers that would sound the solo's division under the accompaniment are left out (R28). Refuses what solo_moments
  // and Chooser refuse.
  [[nodiscard]] static Result<SoloChooser> prepare(const Listening& listening, KeyboardIndex solo_on,
                                                   KeyboardIndex under, const Work& work);
  // Refuses a solo that does not sound, and what Chooser::ask refuses; stopped work.
  [[nodiscard]] Result<SoloChoice> ask(const SoloWish& wish, const Work& work);
  [[nodiscard]] KeyboardIndex solo_on() const { return solo_on_; }
  [[nodiscard]] KeyboardIndex under() const { return chooser_.on(); }

 private:
  SoloChooser(const Listening& listening, KeyboardIndex solo_on, SoloMoments moments, Chooser chooser);
  [[nodiscard]] Result<std::optional<SoloAnswer>> together(const SoloWish& wish, const BoxPositions& box, Chosen under);
  const Listening* listening_;
  KeyboardIndex solo_on_;
  SoloMoments moments_;
  Chooser chooser_;
  ChordEar tune_;
  ChordEar both_;
};

}  // namespace calcant
