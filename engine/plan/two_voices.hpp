// Two hands on two manuals: what practice has against a solo and its accompaniment (R28), or against the two upper voices
// of a trio, by how each is drawn and how they sound beside one another.
#pragma once

#include "engine/organ/organ.hpp"
#include "engine/plan/chorus.hpp"
#include "engine/plan/quick_scales.hpp"
#include "engine/plan/vocabulary.hpp"

namespace calcant {

// The most stops a hand has there.
[[nodiscard]] std::size_t most_stops(Placing placing, bool left);

// 0 nothing. A solo is one voice with a character, clear of what is under it; the voices of a trio stand on 8 and 4 ft,
// alike in strength and unlike in colour (common practice).
[[nodiscard]] double against_voices(const Organ& organ, Placing placing, const Voicing& right, const Voicing& left,
                                    const QuickScales::Figures& right_heard, const QuickScales::Figures& left_heard);

// Whether a tune may be soloed on this: a reed, a diapason or a flute of 8 ft, also together or with a flute of 4 ft; a
// string alone is none, nor is a chorus (common practice).
[[nodiscard]] bool is_solo_voice(const Organ& organ, const Voicing& tune);
// R28: phon a solo stands above its accompaniment, at least and at most (ours).
inline constexpr double solo_margin = 4;
inline constexpr double solo_most = 14;

}  // namespace calcant
