// What the pressure does while more wind is taken than comes in.
//
// As long as the reservoir has wind its weights keep the pressure. More taken than supplied comes out of the reserve; with
// that gone the top lies on its stop, and the pressure falls to where the pipes take no more than is supplied. A pipe's
// flow goes as the root of the pressure (Bernoulli), so that is (supply / demand) squared of the working pressure. Assumed:
// the supply gives as much at any pressure, and the pressure follows in `sinking`. What wind a reservoir's inertia shakes
// is not modelled.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/quantity/units.hpp"
#include "engine/wind/wind.hpp"

namespace calcant {

// From here on so much more is taken at working pressure, or less.
struct DemandChange {
  Seconds at;
  LitresPerSecond by;
};

// The pressure at a time, as a share of the working pressure; straight lines between, 1 before the first point and as the
// last one after.
struct WindPoint {
  Seconds at;
  double pressure = 1.0;
};

struct Sag {
  std::vector<WindPoint> pressure;  // empty: it holds throughout
  LitresPerSecond most;             // taken at once, at working pressure
  std::optional<Seconds> empty_at;  // first
  double least = 1.0;
};

inline constexpr Seconds sinking{0.3};  // assumed, no source

// The reservoir is full at the beginning. `changes` need not be in order. supply > 0.
[[nodiscard]] Sag sag(std::vector<DemandChange> changes, LitresPerSecond supply, CubicMetres reservoir);
// "The blower gives 130 l/s and 160 are wanted: the reservoir is empty after 12 s and the pressure falls to 66 %."; nothing
// where the pressure holds.
[[nodiscard]] std::optional<std::string> sentence(const Sag& s, LitresPerSecond supply, std::string_view supplier);

}  // namespace calcant
