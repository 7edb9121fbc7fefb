// What a stop of a generic name usually is: the trade's common knowledge, no source, and so always marked assumed.
// Inside this part only.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/organ/organ.hpp"

namespace calcant::trade {

struct Kind {
  std::string_view family;  // as written in organ.toml
  std::string_view form;
  std::string_view material;
  double half_tones;      // against normal scale
  double mouth;           // share of the circumference
  double cut_up;          // share of the mouth's width
  double loudness_db;     // against what kind and scale predict
  std::string_view feet;  // usual length on a manual; the pedal's is an octave longer for 8 ft names
  bool known;             // the name was found
  bool celeste;
  bool solo;
};

// A name as it is compared: small letters, single spaces, no accents, hyphens or full stops.
[[nodiscard]] std::string folded(std::string_view name);
[[nodiscard]] Kind kind_of(std::string_view name, bool pedal);
// Whether the name is that of a compound stop (Mixture, Sesquialtera, Cornet ...).
[[nodiscard]] bool is_mixture(std::string_view name);
// The lengths of a mixture's ranks at the bottom: from printed intervals "15.19.22", or usual for so many ranks.
[[nodiscard]] std::vector<Feet> mixture_lengths(std::string_view name, std::string_view intervals, int ranks);
// One rank's length after `breaks` breaks: an octave or fifth longer each time, thirds stay.
[[nodiscard]] Feet broken(Feet feet, int breaks);

}  // namespace calcant::trade
