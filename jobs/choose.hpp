// What to draw for a purpose said in words, and a build-up: the chooser's answers with their reasons.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/registration/buildup.hpp"
#include "engine/registration/choose.hpp"
#include "engine/registration/rules.hpp"
#include "engine/registration/solo.hpp"
#include "jobs/context.hpp"

namespace calcant {

// The keyboard of this name or id; empty: the first manual. `where` names the option in errors.
[[nodiscard]] Result<KeyboardIndex> manual_asked(const Organ& organ, const std::string& name, const std::string& where);

struct ChooseRequest {
  std::string on;  // keyboard; empty: the first manual
  // "very soft", "soft", "moderate", "loud", "full"; "softer", "louder" (than `from`); "a shade more than NAME", "a shade
  // less than NAME", "as loud as NAME" (a saved registration, or stops in words); "enough for 40" (singers).
  std::string level;
  std::optional<double> phon;
  Colour colour = Colour::any;
  std::string must;      // knobs in words
  std::string must_not;  // likewise
  std::string from;      // what is drawn now
  std::string solo;      // what a tune is played on; with it `under` is the accompaniment's keyboard
  std::string under;
  double singer_db = 74;  // one singer's sound power, dB re 1 pW
  double singer_band = 5;
  int limit = 8;
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
};
struct Choices {
  std::string purpose;  // a sentence: what was asked, in figures
  std::vector<ChoiceShown> answers;
  double considered = 0;
  bool searched = false;
  std::optional<double> at_least;  // points that nothing can be under
};
[[nodiscard]] Result<Choices> choose(const OrganContext& context, const ChooseRequest& request, const Work& work);
[[nodiscard]] std::string json_text(const OrganContext& context, const Choices& c);

struct BuildUpRequest {
  std::string on;
  std::string from = "soft";
  std::string to = "full";
  int steps = 10;
  std::string must;
  std::string must_not;
};
struct BuiltUp {
  BuildUpReport report;
  std::string purpose;
};
[[nodiscard]] Result<BuiltUp> build_up(const OrganContext& context, const BuildUpRequest& request, const Work& work);
[[nodiscard]] std::string json_text(const OrganContext& context, const BuiltUp& b);

// "shut", "open", "0.4 open", by box; empty where the organ has none.
[[nodiscard]] std::string box_words(const Organ& organ, const Registration& drawn);

}  // namespace calcant
