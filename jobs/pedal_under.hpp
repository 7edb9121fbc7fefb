// What the feet draw under hands that lead a hymn: rules R15 to R17 of docs/reference/rules.md.
#pragma once

#include <optional>

#include "engine/organ/registration.hpp"
#include "engine/plan/scales.hpp"
#include "engine/registration/rules.hpp"

namespace calcant {

struct PedalUnder {
  Registration knobs;  // stops of the pedal and its coupler, nothing of the hands'
  Phons hands;         // mean over three chords of four parts
  Phons feet;          // likewise, with the couplers
  [[nodiscard]] bool buried() const { return (hands - feet).value() > pedal_buried_phon; }  // R16
};
// Up to three stops, with the coupler from the hands' manual or without, and another to what sounds under the hands, as
// practice has least against them (engine/plan/pedal_fit.hpp; a knob is a tenth of a point); of the pedal's knobs those that
// must be drawn always, however many. Nothing where there is no pedal, or nothing in it may be drawn. drawn: of the hands, on
// `on`. scales: on hymn_chords with the bass in the feet.
[[nodiscard]] std::optional<PedalUnder> pedal_under(Scales& scales, const Registration& drawn, KeyboardIndex on,
                                                    const Registration& must, const Registration& must_not);

}  // namespace calcant
