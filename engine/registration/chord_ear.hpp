// Registrations heard in full on stated chords at one place: the mean loudness and brightness that wishes are about.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <span>
#include <unordered_map>
#include <vector>

#include "engine/hearing/audibility.hpp"
#include "engine/hearing/known_sources.hpp"
#include "engine/listening/listening.hpp"
#include "engine/organ/sounding.hpp"
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
// tenth. Every pipe is taken to the ear once, and registrations with equal pipes are heard once. Answers are kept, some
// 20,000 at 8 kB each, then all are forgotten. Not thread-safe. The listening must outlive it.
class ChordEar {
 public:
  ChordEar(const Listening& listening, std::vector<KeysDown> chords);

  // The answer lives until the next hear_all.
  [[nodiscard]] const HeardOn& hear(const Registration& drawn);
  // Makes ready what hear() will be asked, on as many threads as the work allows.
  void hear_all(std::span<const Registration> drawn, const Work& work);
  // About the mean loudness, in phon, of what differs from `drawn` as both `a` and `b` do: their excitations added, less
  // that of `drawn`. Within a few tenths, without hearing it.
  [[nodiscard]] double about(const Registration& drawn, const Registration& a, const Registration& b);
  // The greatest difference on any chord; and the least.
  [[nodiscard]] Difference most(const Registration& a, const Registration& b);
  [[nodiscard]] Difference least(const Registration& a, const Registration& b);
  // Whether on some chord the difference is twice what is audible, 12 % of loudness or 2 dB in some filter (our margin: of
  // assumed levels a few dB off most draws leave it audible).
  [[nodiscard]] bool surely(const Registration& a, const Registration& b);

  [[nodiscard]] const std::vector<KeysDown>& chords() const { return chords_; }
  [[nodiscard]] const Listening& listening() const { return *listening_; }
  [[nodiscard]] const Ear& ear() const { return sources_.ear(); }

 private:
  // What sounds on every chord, as sources: each chord's by rank and pipe, so that it is added up in one order whatever was
  // asked before, with how many there are before it.
  using Sound = std::vector<std::uint32_t>;
  // A registration's sound and what else follows from its pipes.
  struct Asked {
    Sound sound;
    std::vector<std::size_t> chords;  // where each begins in it, with its count
    double wind = 0;
    double pipes = 0;
  };
  [[nodiscard]] Asked ask(const Registration& drawn);
  // The pipe as a source, its box as far open as this.
  [[nodiscard]] std::uint32_t source(PipeId pipe, float opening);
  void learn_new_sources();
  [[nodiscard]] Heard heard(const Asked& asked, std::size_t chord) const;
  [[nodiscard]] static HeardOn together(const Asked& asked, std::vector<Heard> chords);

  const Listening* listening_;
  std::vector<KeysDown> chords_;
  Sounding sounding_;
  KnownSources sources_;
  std::map<float, std::vector<std::vector<std::uint32_t>>> numbers_;  // by opening, rank, pipe number - 1
  std::vector<Lines> new_sources_;                                    // numbered, and not yet known
  std::map<Sound, std::shared_ptr<const HeardOn>> sounds_;
  std::unordered_map<Registration, std::shared_ptr<const HeardOn>> known_;
};

}  // namespace calcant
