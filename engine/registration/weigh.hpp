// One registration weighed by ear: how loud, bright and rough it is at a place, what every drawn knob does for it, and
// what every other one would.
//
// The levels of an organ that was not measured are assumed. Everything is therefore drawn again many times with the
// levels varied, a rank at a time (normal, 5 dB as 95 %, where nothing better is known), and what does not hold in nine
// draws of ten is said to depend on the assumed levels.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "engine/hearing/audibility.hpp"
#include "engine/hearing/roughness.hpp"
#include "engine/listening/listening.hpp"
#include "engine/organ/knob.hpp"
#include "engine/organ/registration.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/work.hpp"
#include "engine/wind/wind.hpp"

namespace calcant {

struct WeighSettings {
  int draws = 200;  // 0: no bands are wanted; at most 2000
  std::uint64_t seed = 1;
  bool others = true;  // also what every knob that is not drawn would add
};

// Under this share of the draws a verdict is said to depend on assumed levels.
inline constexpr double holds = 0.9;

// Half of the 95 % interval of a rank's level, dB: what its source says; 1 where it was measured and does not say, 5
// where it is assumed or given.
[[nodiscard]] double level_band(const Rank& rank);

struct KnobWeight {
  Knob knob;  // a stop or a coupler
  bool drawn = false;
  // Of a drawn knob: what the sound would lose without it; of another: what it would gain. (a) and (b) of audibility.hpp.
  Change change;
  Presence presence = Presence::hidden;
  Sones alone;               // by itself: the pipes it brings, with nothing else
  Sones partial;             // among the rest
  double verdict_holds = 1;  // share of the draws with the same two answers
  int pipes = 0;             // that go with it
};

struct WeighedRegistration {
  Loudness loudness;
  Phons phon_95;  // half of the 95 % interval over the draws
  Acums brightness;
  double roughness = 0;
  std::vector<Beat> beats;  // between the pipes of one key, which should agree; loudest first, at most 64
  WindJudgement wind;
  int pipes = 0;
  // Nothing of its levels was measured or given (an ear trial does neither): people are told order and kind, no
  // percentages.
  bool all_assumed = true;
  // A pipe of it sounds below 80 Hz or below where the room's own resonances stand apart: from seat to seat it may be
  // 10 dB more or less there. 0: none does.
  Hertz modal_below;
  std::vector<KnobWeight> knobs;  // drawn ones first, each in the organ's order; what cannot reach the keys is left out
};

// Refuses: no key down, nothing sounding, draws out of range; stopped work.
[[nodiscard]] Result<WeighedRegistration> weigh(const Listening& listening, const Registration& drawn,
                                                const KeysDown& down, const WeighSettings& settings, const Work& work);

// "audible, not heard as itself", or "depends on assumed levels" where too few draws agree.
[[nodiscard]] std::string verdict(const KnobWeight& k);

}  // namespace calcant
