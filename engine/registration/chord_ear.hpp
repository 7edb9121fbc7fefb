// Registrations heard in full on stated chords at one place: the mean loudness and brightness that wishes are about.
#pragma once

#include <span>
#include <unordered_map>
#include <vector>

#include "engine/hearing/audibility.hpp"
#include "engine/listening/listening.hpp"
#include "engine/quantity/work.hpp"

namespace calcant {

// What a level means where nobody says otherwise: three chords of four keys, low (C3 G3 C4 E4), middle (C4 E4 G4 C5)
// and high (G4 C5 E5 G5), on this keyboard, the hands moved by `played` semitones. Empty where the keyboard lacks one of
// the keys. (Our choice; the middle of the compass of hymns.)
[[nodiscard]] std::vector<KeysDown> stated_chords(const Organ& organ, KeyboardIndex on, int played = 0);
// Four others (E3 B3 E4 G#4; F3 C4 F4 A4; A3 E4 A4 C#5; F4 A4 C5 F5), for judging what was found on the stated ones.
[[nodiscard]] std::vector<KeysDown> proof_chords(const Organ& organ, KeyboardIndex on);

struct HeardOn {
  std::vector<Heard> chords;
  double phons = 0;  // the mean over the chords
  double acums = 0;
  double wind = 0;  // litres per second, the mean over the chords
  double pipes = 0;
};

// The full model (every filter shaped by the whole sound) on its grid of a quarter Cam, within 0.2 % of the standard's
// tenth. Answers are kept. Not thread-safe. The listening must outlive it.
class ChordEar {
 public:
  ChordEar(const Listening& listening, std::vector<KeysDown> chords);

  [[nodiscard]] const HeardOn& hear(const Registration& drawn);
  // Makes ready what hear() will be asked, on as many threads as the work allows.
  void hear_all(std::span<const Registration> drawn, const Work& work);
  // The greatest difference on any chord; and the least.
  [[nodiscard]] Difference most(const Registration& a, const Registration& b);
  [[nodiscard]] Difference least(const Registration& a, const Registration& b);

  [[nodiscard]] const std::vector<KeysDown>& chords() const { return chords_; }
  [[nodiscard]] const Listening& listening() const { return *listening_; }
  [[nodiscard]] const Ear& ear() const { return ear_; }

 private:
  [[nodiscard]] HeardOn heard(const Registration& drawn) const;
  const Listening* listening_;
  std::vector<KeysDown> chords_;
  Ear ear_;
  std::unordered_map<Registration, HeardOn> known_;
};

}  // namespace calcant
