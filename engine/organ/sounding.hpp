// Which pipes sound, exactly: the one place where this is answered.
//
// Keys on a keyboard reach its home division by the unison path (unless a unison off is drawn) and, moved by their
// intervals, the divisions its couplers lead to. A coupler acts on the notes another coupler brings only if that other
// one `carries` it; an octave coupler therefore never feeds itself unless the organ file says so, and cycles end. Notes
// a division's action does not have are lost on the way. A pipe reached twice sounds once. A stop out of use and a dead
// pipe are silent.
#pragma once

#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/organ/registration.hpp"

namespace calcant {

// Numbers of the sounding pipes, by rank (index = RankIndex; member n = pipe number n).
struct PipeSet {
  std::vector<NoteSet> ranks;

  [[nodiscard]] int size() const;
  [[nodiscard]] bool contains(PipeId p) const { return ranks[static_cast<std::size_t>(p.rank)].contains(p.number); }
  friend bool operator==(const PipeSet&, const PipeSet&) = default;
};

// Answers the question for one organ, over and over, without allocating after the first call. Not thread-safe: one per
// thread. The organ must outlive it.
class Sounding {
 public:
  explicit Sounding(const Organ& organ);

  // Overwrites `out` with the pipes that sound.
  void pipes(const Registration& drawn, const KeysDown& down, PipeSet& out);

  // The notes that reach each division (index = DivisionIndex), by all paths together, within its action's range.
  [[nodiscard]] const std::vector<NoteSet>& notes(const Registration& drawn, const KeysDown& down);

 private:
  struct Feed;  // see sounding.cpp
  const Organ* organ_;
  std::vector<NoteSet> reached_;  // by division
  std::vector<NoteSet> carried_;  // by coupler: what it has brought
};

// The same answer with its reasons, for people: slower, and allocating.
struct SoundingPipe {
  PipeId pipe;
  struct From {
    KeyboardIndex keyboard;
    Note key;
    StopIndex stop;
    std::vector<CouplerIndex> through;  // in order from the key; empty for the unison path
  };
  std::vector<From> from;               // every way by which it is reached
};
struct MissingPipe {
  StopIndex stop;
  RankIndex rank;
  Note note;                            // the note on the division that finds no pipe
  KeyboardIndex keyboard;
  Note key;
  std::string why;                      // "the rank ends at G6", "dead", "the stop begins at tenor C", "out of use"
};
struct SoundingReport {
  std::vector<SoundingPipe> pipes;      // by rank, then number
  std::vector<MissingPipe> missing;
};
[[nodiscard]] SoundingReport explain(const Organ& organ, const Registration& drawn, const KeysDown& down);

}  // namespace calcant
