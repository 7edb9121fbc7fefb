// A Performance: what the pipes do in time, ready to be made into sound. jobs builds it from a plan, a score,
// a chord.
#pragma once

#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/quantity/units.hpp"
#include "engine/wind/sag.hpp"

namespace calcant {

// One pipe speaking: from its pallet opening to its shutting. Action delay is already in these times. The
// same pipe never overlaps itself (a pipe reached twice sounds once).
struct PipeEvent {
  PipeId pipe;
  Seconds on;
  Seconds off;  // > on

  friend bool operator==(const PipeEvent&, const PipeEvent&) = default;
};

// A swell box reaches this opening (0 shut, 1 open) at this time, in a straight line from the point before;
// before the first point it stands at the first, after the last at the last. Points rise in time.
struct BoxPoint {
  BoxIndex box = 0;
  Seconds at;
  double opening = 1.0;
};

struct TremulantSpan {
  DivisionIndex division = 0;
  Seconds from;
  Seconds to;
};

struct Performance {
  std::vector<PipeEvent> events;  // by `on`, then pipe
  std::vector<BoxPoint> boxes;    // a box without points stands open
  std::vector<TremulantSpan> tremulants;
  std::vector<WindPoint> wind;  // empty: the pressure holds
  Seconds length;               // of the music; the room's decay is added when rendered
};

}  // namespace calcant
