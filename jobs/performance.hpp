// What the pipes do when a planned score is played: the bridge from plan and score to sound.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "engine/air/air.hpp"
#include "engine/organ/organ.hpp"
#include "engine/plan/plan.hpp"
#include "engine/playing/player.hpp"
#include "engine/playing/touch.hpp"
#include "engine/score/score.hpp"
#include "engine/sound/performance.hpp"

namespace calcant {

struct PerformanceSettings {
  double quarters_per_minute = assumed_tempo;  // where the score has none
  std::optional<double> tempo;                 // overrules the score's
  double gap_quarters = 2;                     // between verses
  Touch touch{};
  FeetTouch feet{};
};

// How this player takes the feet's notes of this score; nothing where the feet have none, or no way was found.
[[nodiscard]] FeetTouch feet_touch(const Score& score, const Organ& organ, const Player& player,
                                   const PerformanceSettings& settings);

// One item of a plan played from its score: a hymn once for each verse with that verse's registration, a piece once
// through with its cues at their places; keys go down and up as engine/playing/touch.hpp says. A knob moved while keys
// are held is heard at once. Pipes speak and fall silent later than their key by their division's delay.
[[nodiscard]] Performance perform(const Organ& organ, const Plan& plan, int item, const Score& score,
                                  const PerformanceSettings& settings);

// How the wind holds while this is played, with the reservoir full at the beginning and the blower or, by_hand, people at
// the pump: sets p.wind, and tells where it falls.
[[nodiscard]] std::optional<std::string> set_wind(const Organ& organ, const Air& air, bool by_hand, Performance& p);

// What goes to pipes, boxes and tremulants while `keys` are held from `from` to `to` (seconds of the performance) with
// one registration: for chords, and for each stretch of perform().
class PipesInTime {
 public:
  explicit PipesInTime(const Organ& organ);
  ~PipesInTime();
  PipesInTime(const PipesInTime&) = delete;
  PipesInTime& operator=(const PipesInTime&) = delete;

  void keys(const Registration& drawn, const KeysDown& keys, double from, double to);
  // Boxes and tremulant as drawn from one time to another; they stand between what was said before and after.
  void accessories(const Registration& drawn, double from, double to);
  // Everything so far: a pipe that several keys reach sounds once, and on as long as one of them is down.
  [[nodiscard]] Performance done(double length) const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace calcant
