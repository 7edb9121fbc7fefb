#include "engine/plan/given.hpp"

#include <algorithm>

#include "engine/plan/chorus.hpp"

namespace calcant {

Registration with(Registration before, const GivenChange& change) {
  for (const Knob k : change.put_in) set_drawn(before, k, false);
  for (const Knob k : change.draw) set_drawn(before, k, true);
  for (const BoxSetting b : change.boxes) before.box[static_cast<std::size_t>(b.box)] = b.opening;
  return before;
}

int idle_moves(const Registration& before, const GivenChange& change) {
  const auto idle = [](const auto& moves, const auto& done) {
    return static_cast<int>(std::count_if(moves.begin(), moves.end(), done));
  };
  return idle(change.draw, [&](Knob k) { return is_drawn(before, k); }) +
         idle(change.put_in, [&](Knob k) { return !is_drawn(before, k); }) +
         idle(change.boxes,
              [&](const BoxSetting& b) { return before.box[static_cast<std::size_t>(b.box)] == b.opening; });
}

std::string told(const Organ& organ, const GivenChange& change) {
  std::string moves;
  const auto add = [&moves](const std::string& what) { moves += (moves.empty() ? "" : ", ") + what; };
  for (const Knob k : change.draw) add(full_name(organ, k) + " drawn");
  for (const Knob k : change.put_in) add(full_name(organ, k) + " put in");
  for (const BoxSetting& b : change.boxes) add(box_words(b.box, b.opening));
  if (moves.empty()) moves = change.on ? "only the keyboards change" : "nothing is moved here";
  return "Fixed by you: " + moves + (change.why.empty() ? "" : "; " + change.why) + ".";
}

}  // namespace calcant
