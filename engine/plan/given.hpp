// What the user has given a plan: a whole registration, or a change that is to be just so. It is kept, and the rest is
// planned round it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/plan/plan.hpp"

namespace calcant {

// A registration the user has fixed; where the hands are, if that is fixed too.
struct FixedState {
  Registration drawn;
  std::optional<HandsAndFeet> on;
  bool pedal_open = false;  // nothing is said of the pedal: what it draws under the hands is the plan's
};

// At this place this is moved and nothing else; where it is nothing, what is drawn stays as it was (a change that the
// planner would make there is struck out).
struct GivenChange {
  std::vector<Knob> draw;
  std::vector<Knob> put_in;
  std::vector<BoxSetting> boxes;
  std::optional<HandsAndFeet> on;  // where hands and feet go; nothing: as the music has them
  std::string why;
};
[[nodiscard]] Registration with(Registration before, const GivenChange& change);
// How many of its moves have nothing to do on this registration: knobs that are drawn or in already, boxes already there.
[[nodiscard]] int idle_moves(const Registration& before, const GivenChange& change);
// "Fixed by you: Principal 4 drawn, Dulciana 8 put in; the people split." A whole sentence.
[[nodiscard]] std::string told(const Organ& organ, const GivenChange& change);

// What the user has fixed to be moved within a verse, at the end of a line.
struct LineCue {
  int after_line = 1;
  GivenChange change;
};

}  // namespace calcant
