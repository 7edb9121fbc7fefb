// What the findings of several stops have in common: one groove, one side of the chest, one octave; or that a note is at
// fault on one stop alone.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "engine/measuring/findings.hpp"

namespace calcant {

// One stop as it was measured. Stops of one chest share its wind, and where it is grooved the pallet and action of each
// note.
struct StopFindings {
  std::string stop;   // as people name it
  std::string chest;  // id
  bool grooved = true;
  std::span<const MeasuredNote> notes;
  std::span<const Finding> findings;
};

struct SharedFinding {
  FindingKind kind = FindingKind::dead;
  std::vector<Note> keys;
  std::vector<std::string> stops;  // that show it
  std::string shared;  // "one groove", "C sharp side", "C side", "one octave"; "one stop" where others are in order
  std::string sentence;
  std::vector<std::string> causes;
  std::vector<SeparatingTest> tests;
  Who who = Who::builder;
};

// A groove: the same key at fault in the same way (pitch and level to the same side) on at least two stops of a grooved
// chest, and on at least two thirds of those measured there. A side or an octave: at least five keys of one chest at fault
// in one way over at least two stops, all on that side (by chance once in sixteen) or within twelve keys. One stop: dead,
// ciphering, late or slow there, while at least one other stop of the chest speaks as it should at that key. Nothing is
// said of kinds that are a pipe's own affair (off speech, beats).
[[nodiscard]] std::vector<SharedFinding> shared_findings(std::span<const StopFindings> stops);

}  // namespace calcant
