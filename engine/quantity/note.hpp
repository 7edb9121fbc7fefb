// Keys, notes and the lengths in feet that stops are named by.
#pragma once

#include <compare>
#include <string>
#include <string_view>

#include "engine/quantity/rational.hpp"
#include "engine/quantity/result.hpp"

namespace calcant {

// A key, or the note it is named for, counted in semitones as MIDI does: 60 is middle C (C4), 36 the bottom key of
// manuals and pedals (C2). On a keyboard it says which key; as a pipe's nominal note which note sounds.
struct Note {
  int midi = 0;  // 0 to 127

  friend constexpr auto operator<=>(Note, Note) = default;
};
inline constexpr Note middle_c{60};
inline constexpr int highest_midi = 127;

// How people like notes written: "C4", "c1" (C, c, c1 ... after Helmholtz; C2 is "C"), or "middle C" (CC, tenor C ...).
enum class NoteStyle { scientific, helmholtz, english };
// Sharps are written for the black keys, as tuners do. Out of 0..127 gives "?".
[[nodiscard]] std::string name(Note n, NoteStyle style = NoteStyle::scientific);
// "C4", "f#2", "Bb3", "E-flat 3" is not read; octave numbers follow scientific pitch, middle C = C4. Both cases.
[[nodiscard]] Result<Note> parse_note(std::string_view text);
// A note as organists write and say it: all that parse_note reads, and "F sharp 3", "F♯3", "tenor C", "middle F sharp",
// "bottom C", "CC", "FF sharp", "C in alt", and after Helmholtz "c'", "b flat''" (small letters; c' is middle C).
[[nodiscard]] Result<Note> parse_spoken_note(std::string_view text);

// The speaking length a stop is named by: 8, 2 2/3, 16. An 8 ft stop sounds as written.
class Feet {
 public:
  constexpr Feet() = default;
  constexpr explicit Feet(Rational length) : length_(length) {}
  [[nodiscard]] constexpr Rational length() const { return length_; }
  // How many times the frequency of the 8 ft note: 8 -> 1, 4 -> 2, 2 2/3 -> 3, 16 -> 1/2. Lengths are named by rounded
  // feet, so 5 1/3 is harmonic 3/2, 1 3/5 harmonic 5, 1 1/7 harmonic 7 exactly.
  [[nodiscard]] Rational harmonic() const { return Rational{8} / length_; }
  // The harmonic in whole semitones, rounded: 8 -> 0, 4 -> 12, 2 2/3 -> 19, 1 3/5 -> 28, 16 -> -12.
  [[nodiscard]] int semitones() const;
  // Whether it is 8 ft moved by whole octaves; if not, it is a mutation and tuned pure.
  [[nodiscard]] bool is_octave() const;
  friend constexpr bool operator==(const Feet&, const Feet&) = default;
  friend std::strong_ordering operator<=>(const Feet& a, const Feet& b) { return a.length_ <=> b.length_; }

 private:
  Rational length_{8};
};
// "2 2/3", "8", "16"; reads also "2-2/3", "2 2/3'", "8 ft", "2⅔" and "8'". From 1/8 to 64 ft, nothing else.
[[nodiscard]] std::string to_string(Feet f);
[[nodiscard]] Result<Feet> parse_feet(std::string_view text);

}  // namespace calcant
