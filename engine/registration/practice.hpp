// The rules of practice on every state of a space, in a few bit operations each: what a search can afford. The words, the
// reasons and the sources are rules.hpp's; a test holds the two together.
#pragma once

#include <array>
#include <vector>

#include "engine/registration/rules.hpp"
#include "engine/registration/space.hpp"

namespace calcant {

// What a state must keep to before it is worth weighing.
enum class Manner {
  free,  // something at 8 ft as it is heard, of the keyboard's own; no celeste without its partner or with anything but
         // soft 8 ft; no twelfth without a 2 ft; what R1, R3 and R8 say
  hymn,  // that, and 4 ft as well, and no celeste at all (R36, R8)
  chorus  // that of free, no gap in the ladder of octaves (R2), 16 ft only over 4 ft (R13), no celeste; each division from
          // its 8 ft upwards, its mixture last, and octave couplers only over all of that (R4): a step of a build-up
};

class Practice {
 public:
  // The hands are on keyboard `on`, moved by `played` semitones: 12 is an octave higher than written. The space must
  // outlive it.
  Practice(const Space& space, KeyboardIndex on, int played);

  [[nodiscard]] bool allows(std::size_t linking, StopMask stops, Manner manner) const;
  // Rules that warn of it: R2, R6 (once for each doubling), R7 of a gamba, R13.
  [[nodiscard]] int warnings(std::size_t linking, StopMask stops) const;
  // Celestes of the space.
  [[nodiscard]] StopMask celestes() const { return celestes_; }
  [[nodiscard]] int played() const { return played_; }

 private:
  static constexpr std::size_t pitches = 5;  // 16, 8, 4, 2 2/3, 2
  static constexpr std::size_t families = 4;
  struct Heard {
    std::array<StopMask, pitches> at{};                         // sounding there by any path
    std::array<StopMask, pitches> plain{};                      // sounding there without octave couplers
    bool octaves = false;                                       // an octave or sub-octave coupler is drawn
    StopMask twelfths = 0;                                      // at 2 2/3, mixtures left out
    StopMask own_eight = 0;                                     // of the keyboard's own division, not coupled
    std::array<std::array<StopMask, pitches>, families> own{};  // not coupled; celestes and mixtures left out
    StopMask own_upper = 0;                                     // principals at 4 or 2 ft, not coupled
    StopMask company = 0;                                       // what a celeste does not go with
  };
  std::vector<Heard> heard_;  // by linking
  StopMask celestes_ = 0;
  StopMask mixtures_ = 0;
  StopMask gambas_ = 0;
  std::vector<std::pair<StopMask, StopMask>> partners_;  // a celeste, and stops that are what it beats with
  std::vector<std::pair<StopMask, StopMask>> ladders_;   // stops of a division, and those it has an octave lower
  int played_;
};

}  // namespace calcant
