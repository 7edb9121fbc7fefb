// What to draw for a purpose said in words, and the answers with their reasons. Asked of a Registrant (registrant.hpp).
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/registration/choose.hpp"
#include "engine/registration/rules.hpp"
#include "engine/registration/weigh.hpp"
#include "jobs/chords_asked.hpp"
#include "jobs/context.hpp"
#include "jobs/level_holds.hpp"

namespace calcant {

struct ChooseRequest {
  std::string on;  // keyboard; empty: the first manual
  // "very soft", "soft", "moderate", "loud", "full"; "softer", "louder" (than `from`); "a shade more than NAME", "a shade
  // less than NAME", "as loud as NAME" (a saved registration, or stops in words); "enough for 40" (singers).
  std::string level;
  std::optional<double> phon;
  Colour colour = Colour::any;
  ChordsAsked heard_on;  // in place of the stated chords; the hands then stay at pitch
  std::string must;      // knobs in words
  std::string must_not;  // likewise
  std::string from;      // what is drawn now
  std::string solo;      // what a tune is played on; with it `under` is the accompaniment's keyboard
  std::string under;
  double singer_db = 74;  // one singer's sound power, dB re 1 pW
  double singer_band = 5;
  int limit = 8;
  // How often the assumed levels are varied to judge each answer given; 0: none is judged (what changes with every
  // touch of a wish cannot wait for it).
  int draws = 0;
};

struct ChoiceShown {
  Registration drawn;
  int played = 0;  // semitones the hands move
  double phons = 0;
  double acums = 0;
  double points = 0;
  std::vector<std::string> reasons;  // whole sentences
  std::vector<Neighbour> neighbours;
  std::vector<Advice> advice;
  // The middle one of the chords, with the solo's note where there is one; what every drawn knob does for the sound there.
  KeysDown middle;
  std::optional<WeighedRegistration> weighed;
  LevelClaim claim;                   // what is said of its level
  std::optional<double> level_holds;  // the share of the draws in which that is true; where levels were drawn again
};
struct Choices {
  std::string purpose;  // a sentence: what was asked, in figures
  std::vector<ChoiceShown> answers;
  double considered = 0;
  bool searched = false;
  std::optional<double> at_least;  // points that nothing can be under
};
[[nodiscard]] std::string json_text(const OrganContext& context, const Choices& c);

}  // namespace calcant
