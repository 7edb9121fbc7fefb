// The blind ear trial on paper: one side for the helper at the keys, one for the listener in the nave. The listener's
// side names no stop.
#pragma once

#include <string>
#include <vector>

namespace calcant {

struct EarTrialPage {
  std::string organ;
  bool invented = false;
  std::string date;
  struct Pair {
    std::string keys;
    std::string first;  // what is drawn, in words
    std::string second;
    std::string question;  // "louder"
  };
  std::vector<Pair> pairs;
};

// How the two go about it, a sentence each: the same words on paper and on the screen.
[[nodiscard]] std::vector<std::string> for_the_helper();
[[nodiscard]] std::vector<std::string> for_the_listener();

// A self-contained page of two printed sides.
[[nodiscard]] std::string ear_trial_page(const EarTrialPage& trial);

}  // namespace calcant
