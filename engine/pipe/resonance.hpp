// How long a flue pipe is for its note: the air column, and what its open end and its mouth add to it.
//
// Lengths predicted from here are good to about 10 to 15 cents (two published rules differ by that much for the same
// pipe); calibrate each rank from one measured pipe.
#pragma once

#include "engine/quantity/units.hpp"

namespace calcant {

// What an open, unflanged end of this inside radius adds: 0.6133 a as the frequency goes to 0 (Levine & Schwinger, Phys.
// Rev. 73 (1948) 383), falling with ka after Dalmont, Nederveen & Joly, J. Sound Vib. 244 (2001) 505, eq. 14b (to
// ka = 1.5). A frequency of 0 gives the limit.
[[nodiscard]] Metres open_end_correction(Metres radius, Hertz f, MetresPerSecond c);
// The same in a wide wall: 0.8216 a (eq. 15a).
[[nodiscard]] Metres flanged_end_correction(Metres radius, Hertz f, MetresPerSecond c);
// What the mouth adds: 2.3 a^2 / sqrt(width height) (Ingerslev & Frobenius 1947).
[[nodiscard]] Metres mouth_correction(Metres radius, Metres mouth_width, Metres cut_up);

// Speaking length, languid to open end or to stopper, by these two corrections: open c/2f less both, stopped c/4f less
// the mouth's.
[[nodiscard]] Metres open_length(Hertz f, Metres diameter, Metres mouth_width, Metres cut_up, MetresPerSecond c);
[[nodiscard]] Metres stopped_length(Hertz f, Metres diameter, Metres mouth_width, Metres cut_up, MetresPerSecond c);

// The shop rule of A. Cavaillé-Coll (Comptes rendus 50 (1860) 176): L = c/2f - 5/3 D for a cylinder, c/2f - 2 P for a
// square pipe of inside depth P. He took c = 340 m/s.
[[nodiscard]] Metres shop_length(Hertz f, Metres diameter, MetresPerSecond c);
[[nodiscard]] Metres shop_length_square(Hertz f, Metres depth, MetresPerSecond c);
// The same turned round: the note of an open cylinder of this length and diameter.
[[nodiscard]] Hertz shop_frequency(Metres length, Metres diameter, MetresPerSecond c);

// How sharply the pipe's column resonates at its fundamental with no jet: losses to the walls (boundary layer,
// attenuation 3.0e-5 sqrt(f)/a a metre, Fletcher & Rossing) and by radiation of its open ends. An upper
// bound for the pipe that speaks: mouth and jet cut it several times.
[[nodiscard]] double passive_quality(Metres radius, Hertz f, MetresPerSecond c);

// What part of those losses is radiated: 0.35 at 8 ft C of normal scale, 0.43 at middle C; the narrower the less.
[[nodiscard]] double radiated_share(Metres radius, Hertz f, MetresPerSecond c);

}  // namespace calcant
