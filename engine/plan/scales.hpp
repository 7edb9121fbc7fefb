// How loud a registration is for a hymn or a piece: the mean over its chords, in the nave, by the hearing model.
#pragma once

#include <unordered_map>
#include <vector>

#include "engine/hearing/loudness.hpp"
#include "engine/listening/listening.hpp"
#include "engine/organ/sounding.hpp"
#include "engine/plan/plan.hpp"

namespace calcant {

// Keys of one moment of the music, by who plays them; which keyboards they are on is said when they are weighed.
struct Chord {
  NoteSet right;
  NoteSet left;
  NoteSet feet;
  friend bool operator==(const Chord&, const Chord&) = default;
};

// Weighs states of one organ at one place. Answers are kept, so asking again costs nothing. Not thread-safe. The
// listening must outlive it.
class Scales {
 public:
  Scales(const Listening& listening, std::vector<Chord> chords);

  // Mean loudness level over the chords of everything that sounds; 0 where nothing does.
  [[nodiscard]] Phons all(const Registration& drawn, const HandsAndFeet& on);
  // Of what the feet alone, or the hands alone, make sound.
  [[nodiscard]] Phons feet(const Registration& drawn, const HandsAndFeet& on);
  [[nodiscard]] Phons hands(const Registration& drawn, const HandsAndFeet& on);
  [[nodiscard]] const std::vector<Chord>& chords() const { return chords_; }
  [[nodiscard]] const Listening& listening() const { return *listening_; }
  [[nodiscard]] const Ear& ear() const { return ear_; }

 private:
  // What is drawn where no key of the music leads changes nothing: the same registration without it.
  [[nodiscard]] Registration that_counts(const Registration& drawn, const HandsAndFeet& on);
  [[nodiscard]] Phons mean(const Registration& drawn, const HandsAndFeet& on);
  const Listening* listening_;
  std::vector<Chord> chords_;
  Ear ear_;
  Sounding sounding_;
  PipeSet pipes_;
  std::unordered_map<std::size_t, std::vector<std::pair<std::pair<Registration, HandsAndFeet>, Phons>>> known_;
};

// Keys held down on these keyboards; a key a keyboard does not have is left out.
[[nodiscard]] KeysDown held(const Organ& organ, const Chord& chord, const HandsAndFeet& on);

// Three chords of four parts in this key (the tonic low, the dominant in the middle, the tonic high), bass in the feet:
// what a hymn without a score is weighed on. tonic: 0 C to 11 B.
[[nodiscard]] std::vector<Chord> hymn_chords(int tonic, bool minor, bool feet, bool left_doubles);
// The same chords with the tune alone in the right hand, the left taking all else that the hands play.
[[nodiscard]] std::vector<Chord> tune_apart(std::vector<Chord> chords);
// Every note of this key's scale (of a minor key both sevenths) that four voices may want, by who plays it: what a hymn
// without a score is taken to need. Trebles C4 to E5, inner parts C3 to G4, basses C2 to D4 (assumed: usual hymn compasses).
[[nodiscard]] Chord hymn_notes(int tonic, bool minor, bool feet, bool left_doubles);

}  // namespace calcant
