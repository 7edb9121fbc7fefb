// The registrations a plan chooses from: of everything this organ can draw, what an organist would think of, spread over
// its levels and colours. docs/design/plan.md says how it is gathered and what is kept.
//
// A few hundred states for each way the hands can be placed: the manuals' voicings (chorus.hpp), alone and with another
// manual coupled, the boxes where their pedals rest, the pedal balanced with the hands it carries (R15 to R17), and of
// states that sound alike those with the least against them. Levels and colours are the additive screen's: nearly right.
#pragma once

#include <bitset>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "engine/plan/chorus.hpp"
#include "engine/plan/given.hpp"
#include "engine/plan/plan.hpp"
#include "engine/plan/scales.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/work.hpp"

namespace calcant {

struct Shade {
  Registration drawn;
  HandsAndFeet on;
  Phons loudness;          // everything together, mean over the chords
  Phons hands;             // what the hands play alone
  Phons pedal;             // the feet alone; 0 without
  Acums brightness;        // acum-like
  double against = 0;      // what practice has against it, 0 nothing
  double tone = 0;         // how bright for its level: log of its brightness over the usual one there
  bool leading = false;    // the right hand is on the manual hymns are led from
  bool open8 = false;      // it hears an 8 ft principal, its own manual's where that has one
  bool four = false;       // and a 4 ft
  bool two = false;        // and a 2 ft or a mixture
  bool mixture = false;    // a mixture
  bool reed = false;       // any reed
  bool loud_reed = false;  // a reed of the chorus, not one meant for solos
  // Of two manuals: how far the right hand stands above the left, phon, and whether it has a stop that a tune is soloed on.
  double solo_over = 0;
  bool solo_voice = false;
  std::string what;  // "Great Open Diapason and Principal with Swell Oboe coupled, box shut"
};

// How the hands are placed.
enum class Placing {
  together,  // both on one manual
  solo,      // right hand on a solo of one manual, left on an accompaniment under it on another
  trio       // two voices of like strength and unlike colour on two manuals
};

struct VocabularyWish {
  bool feet = true;
  std::vector<Knob> never;  // stops and couplers never to be drawn
  std::vector<Knob> must;   // always drawn
  // By stop: how many notes the music wants of it that do not speak today. Empty: none is known to be missing.
  std::vector<int> lost;
  // What registrations may become besides, at a place of the copy that asks for it or by a composition pedal, with knobs that
  // may never be drawn otherwise (a celeste). Only where the hands are there, if it says where; what a division is drawn with
  // by the copy's own words is not judged, nor a coupler of the pedals it asks for.
  struct Becoming {
    std::function<Registration(const Registration&)> how;
    std::vector<Knob> with{};
    std::optional<KeyboardIndex> right{};
    std::optional<KeyboardIndex> left{};
    std::vector<DivisionIndex> named{};
    std::bitset<max_couplers> said{};  // couplers the copy speaks of
  };
  std::vector<Becoming> become;
};

// Sorted by loudness, then by how much is against them. Refuses: no manual has a stop in use that could lead (`together`);
// no two manuals for `solo` and `trio`.
[[nodiscard]] Result<std::vector<Shade>> vocabulary(const Organ& organ, Scales& scales, const VocabularyWish& wish,
                                                    Placing placing, const Work& work);

// Where the hands and feet are for a state nobody said it of: the hands on the leading manual, the feet on the pedals if
// they play at all and the state gives them anything.
[[nodiscard]] HandsAndFeet usual_hands(const Organ& organ, const Registration& drawn, bool feet);
// "Great Open Diapason and Principal with Swell Oboe coupled, box shut", "Swell Oboe against Great Clarabella".
[[nodiscard]] std::string described(const Organ& organ, const Registration& drawn, const HandsAndFeet& on);
// A registration the user has fixed, under each of the few pedals that carry it best where the pedal was left open; `against`
// is then what practice has against that pedal, else nothing. feet: whether they play.
[[nodiscard]] std::vector<Shade> fixed_shades(const Organ& organ, Scales& scales, const VocabularyWish& wish,
                                              const FixedState& fixed, bool feet);
// A state that was fixed by the user, weighed and described like the others.
[[nodiscard]] Shade shade_of(const Organ& organ, Scales& scales, const Registration& drawn, const HandsAndFeet& on);

}  // namespace calcant
