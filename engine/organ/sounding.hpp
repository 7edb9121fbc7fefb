// Which pipes sound, exactly: the one place where this is answered.
//
// Keys on a keyboard reach its home division by the unison path (unless a unison off is drawn) and, moved by
// their intervals, the divisions its couplers lead to. A coupler acts on the notes another coupler brings
// only if that other one `carries` it; an octave coupler therefore never feeds itself unless the organ file
// says so, and cycles end. Notes a division's action does not have are lost on the way. A pipe reached twice
// sounds once. A stop out of use and a dead pipe are silent.
#pragma once

#include <cstdint>
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

// Answers the question for one organ, over and over, without allocating after the first call. Not
// thread-safe: one per thread. The organ must outlive it.
class Sounding {
 public:
  explicit Sounding(const Organ& organ);

  // Overwrites `out` with the pipes that sound.
  void pipes(const Registration& drawn, const KeysDown& down, PipeSet& out);

  // The notes that reach each division (index = DivisionIndex), by all paths together, within its action's
  // range.
  [[nodiscard]] const std::vector<NoteSet>& notes(const Registration& drawn, const KeysDown& down);

 private:
  // One coupler, as far as the question needs it.
  struct Way {
    KeyboardIndex from;
    DivisionIndex to;
    int semitones;
    bool unison_off;
    std::uint64_t carries;  // bit c: also feeds coupler c
  };
  // One part of one stop: the division's notes that have a pipe, and how far pipe numbers lie from notes.
  struct Tap {
    StopIndex stop;
    DivisionIndex division;
    RankIndex rank;
    NoteSet notes;
    int to_number;
  };

  std::vector<NoteSet> keys_;        // by keyboard: the keys there are
  std::vector<DivisionIndex> home_;  // by keyboard
  std::vector<NoteSet> range_;       // by division: notes of its action
  std::vector<Way> ways_;            // by coupler
  std::vector<Tap> taps_;            // by stop
  std::vector<NoteSet> speaking_;    // by rank: numbers of pipes that are not dead
  std::vector<NoteSet> reached_;     // by division
  std::vector<NoteSet> brought_;     // by coupler: what it has brought
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
  std::vector<From> from;  // the ways by which it is reached: for each key, stop and last coupler the shortest
};
// A note that a drawn stop was asked for and does not give; once for each stop, rank and note, with the first
// key that asked.
struct MissingPipe {
  StopIndex stop;
  RankIndex rank;
  Note note;    // the note on the division that finds no pipe; may lie beyond its action
  Note sounds;  // what would have sounded, as sounding_note()
  KeyboardIndex keyboard;
  Note key;
  std::string why;  // "the rank ends at G6", "dead", "the stop begins at tenor C", "out of use"
};
struct SoundingReport {
  std::vector<SoundingPipe> pipes;  // by rank, then number
  std::vector<MissingPipe> missing;
};
[[nodiscard]] SoundingReport explain(const Organ& organ, const Registration& drawn, const KeysDown& down);

}  // namespace calcant
