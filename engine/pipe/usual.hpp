// What is usual for a kind of pipe where the organ file says nothing: assumptions, each named in docs/accuracy/pipe.md.
#pragma once

#include "engine/organ/organ.hpp"

namespace calcant {

struct Usual {
  double half_tones;  // wide or narrow of normal scale
  double mouth;       // mouth width as a share of the circumference
  double cut_up;      // height of the mouth as a share of its width
};
// By family and form (pipes.md 2.2 and 2.3: stop lists read in handbooks for the scales, common practice for mouths).
[[nodiscard]] Usual usual(const Rank& rank);

// Whether a figure of the organ was ever filled in: an assumption that names no basis and is 0 stands for "not said".
template <class T>
[[nodiscard]] bool known(const Sourced<T>& figure) {
  return figure.source != Source::assumed || !figure.basis.empty() || figure.value != T{};
}

}  // namespace calcant
