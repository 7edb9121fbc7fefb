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
  // its 8 ft upwards, its mixture last, octave couplers only over 4 and 2 ft flues (R4), and no reed at 4 ft without one
  // at 8 ft: a step of a build-up
};

// What practice has against a state.
struct PracticeAgainst {
  int warnings = 0;
  int makeshifts = 0;
  double soft = 0;  // where something soft is wanted
};

class Practice {
 public:
  // The hands are on keyboard `on`, moved by `played` semitones: 12 is an octave higher than written. The space must
  // outlive it.
  Practice(const Space& space, KeyboardIndex on, int played);

  [[nodiscard]] bool allows(std::size_t linking, StopMask stops, Manner manner) const;
  // Rules that warn of it: R2, R4, R6 (once for each doubling), R7 of a gamba, R13.
  [[nodiscard]] int warnings(std::size_t linking, StopMask stops) const;
  // What an organist would call a makeshift (our own judgement; docs/design/choosing.md): an octave coupler, or a mixture,
  // with no flue that sounds at 4 ft by itself; principals and reeds from 4 ft upwards or a mixture over no 8 ft but strings
  // or reeds; the hands an octave lower with something at 16 ft; a reed with no principal or flute that sounds at 8 ft by itself
  // (R10); a reed at 4 ft with none at 8 ft; a mutation above the twelfth (a tierce) with no flue at 4 ft (R2).
  [[nodiscard]] int makeshifts(std::size_t linking, StopMask stops) const;
  // What is against it in a soft registration (R37, R4), in the currency of SoftPractice.
  [[nodiscard]] double against_soft(std::size_t linking, StopMask stops) const;
  [[nodiscard]] PracticeAgainst against(std::size_t linking, StopMask stops) const {
    return {warnings(linking, stops), makeshifts(linking, stops), against_soft(linking, stops)};
  }
  // What it stands on: its stops of the keyboard's own at 8 ft.
  [[nodiscard]] StopMask foundation(std::size_t linking, StopMask stops) const {
    return stops & heard_[linking].own_eight;
  }
  // Celestes of the space.
  [[nodiscard]] StopMask celestes() const { return celestes_; }
  [[nodiscard]] int played() const { return played_; }

 private:
  static constexpr std::size_t pitches = 5;  // 16, 8, 4, 2 2/3, 2
  static constexpr std::size_t families = 4;
  struct Heard {
    std::array<StopMask, pitches> at{};                         // sounding there by any path
    std::array<StopMask, pitches> plain{};                      // flues sounding there without octave couplers
    bool octaves = false;                                       // an octave or sub-octave coupler is drawn
    StopMask twelfths = 0;                                      // at 2 2/3, mixtures left out
    StopMask own_eight = 0;                                     // of the keyboard's own division, not coupled
    std::array<std::array<StopMask, pitches>, families> own{};  // not coupled; celestes and mixtures left out
    StopMask own_upper = 0;                                     // principals at 4 or 2 ft, not coupled
    StopMask upper = 0;                                         // principals and reeds at 4 or 2 ft, by any path
    StopMask upperwork = 0;                                     // mixtures, and principals at 2 ft by any path
    StopMask own_upperwork = 0;                                 // of it, not coupled
    StopMask fours = 0;                                         // principals at 4 ft by any path
    StopMask coupled_reeds = 0;                                 // at 8 ft by couplers alone
    StopMask reeds = 0;                                         // at 8 ft by any path
    StopMask sturdy = 0;                                        // principals and flutes at 8 ft without octave couplers
    StopMask clarions = 0;                                      // reeds at 4 ft by any path
    StopMask mutations = 0;                                     // above the twelfth, by any path; no mixtures
    StopMask company = 0;                                       // what a celeste does not go with
  };
  std::vector<Heard> heard_;  // by linking
  StopMask celestes_ = 0;
  StopMask mixtures_ = 0;
  StopMask gambas_ = 0;
  StopMask chorus_reeds_ = 0;
  bool has_principal_four_ = false;
  std::vector<std::pair<StopMask, StopMask>> partners_;  // a celeste, and stops that are what it beats with
  std::vector<std::pair<StopMask, StopMask>> ladders_;   // stops of a division, and those it has an octave lower
  int played_;
};

}  // namespace calcant
