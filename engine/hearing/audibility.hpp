// Whether a change of registration is heard, and whether a stop is heard among the others: two answers, kept apart.
//
// (a) Does drawing it change the sound? From loudness and excitation with and without it. Two equal 8 ft stops in tune
//     share their lines: the second adds a fifth to the loudness though neither is heard as itself.
// (b) Can it be heard as itself? From its partial loudness among the rest (Moore, Glasberg & Baer 1997, J. Audio Eng.
//     Soc. 45, 224-240). Partial loudnesses do not add up to the whole, and (a) does not follow from (b).
//
// The answers are for a careful listener who knows what to listen for. The masking rule comes from tones in noise; among
// tones listeners differ by tens of decibels (Leibold et al. 2010, J. Acoust. Soc. Am. 127, 2441), and beats, speech,
// place and tremulant make a stop easier to hear than steady lines say. The player's ear overrules.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "engine/hearing/loudness.hpp"

namespace calcant {

// The steps of difference, from under to over:                    loudness     or any filter's  or partial
//   none           no audible difference                          < 1.5 %      and < 0.5 dB     and < 0.0038 sone
//   in_comparison  just audible in direct comparison              1.5 to 6 %   0.5 to 1 dB      0.0038 to 0.05
//   audible        audible                                        >= 6 %       >= 1 dB          >= 0.05 sone
//   clear          clearly louder or softer                       3 phon, near 23 % (our choice)
//   twofold        twice or half as loud                          10 phon (the phon scale)
// 1 dB and half of it are the just noticeable steps of level of broad sounds (Zwicker's 1 dB rule; Florentine, Buus &
// Mason 1987), 6 and 1.5 % what 1 and 0.25 dB make of an organ's loudness in this model.
enum class Difference { none, in_comparison, audible, clear, twofold };
// "audible", "clearly louder", "half as loud".
[[nodiscard]] std::string_view word(Difference d, bool louder = true);

// How present a part is as itself: partial loudness under 0.0038 sone, that of a sound at the threshold of hearing; up
// to 0.05; over it (after the same table).
enum class Presence { hidden, barely, heard };
// "not heard as itself", "just to be picked out", "heard as itself".
[[nodiscard]] std::string_view word(Presence p);

struct Change {
  Loudness before;
  Loudness after;
  double loudness = 0;  // after / before - 1 in sone; infinity from silence to sound, 0 from silence to silence
  Decibels excitation;  // the greatest change in any filter, up or down, each raised by the threshold's excitation
  Difference difference = Difference::none;
};
// Between two sounds as this ear heard them.
[[nodiscard]] Change change(const Ear& ear, const Heard& before, const Heard& after);

struct Audibility {
  Change drawn;   // (a) from the rest of the sound to the whole; its `difference` also counts `partial`, as above
  Sones partial;  // (b) loudness among the rest
  Presence presence = Presence::hidden;
  Hertz heard_at;  // the filter where it stands out most; 0 where it is silent
  Loudness alone;  // with nothing else sounding
};

struct Weighed {
  Heard whole;
  std::vector<Audibility> parts;  // as given
};
// Parts of a sound, each by the indexes of those of its lines that would go if it were put in (a pipe another stop keeps
// sounding stays out of it). Parts may overlap. Work grows with lines x parts: all stops and couplers at once. Refuses
// what check_lines refuses and an index that is none of the sound's lines.
using PartLines = std::vector<std::uint32_t>;
[[nodiscard]] Result<Weighed> audibility(const Ear& ear, const Lines& whole, std::span<const PartLines> parts);

}  // namespace calcant
