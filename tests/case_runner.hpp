// Acceptance cases: what a user types and what the program must answer, in a text file that anybody can read.
//
//   # How loud a standard tone is.                       a remark
//   needs: ../shared/scores                              the case is left out, saying so, where this is not
//   here $ calcant ear tests/cases/tone.csv --json            typed; runs from the project's root exit: 0 its
//   exit status; 0 unless said, "exit: not 0" for any other > 40.0 phon ... what it must print, line by line:
//   "..." alone is any number of ! ...                                                lines, within a line
//   any text; "!" is standard error likewise json: /phon = 40 +- 0.5                              a value of
//   the JSON printed, by its path (RFC 6901 pointer) json: /divisions/0/name = "Great"                    any
//   JSON value; "json: /a exists", "json: /a absent", json: /pipes count 3 "json: /a count N", "json: /a has
//   TEXT" (as printed) file: $OUT/cues.html                                 a file that was made and is not
//   empty file: $OUT/cues.html has Verse 3                     and holds this text; "lacks" for what it must
//   not hold
//
// Several commands may follow one another; checks belong to the command above them. $OUT is a folder of the
// case's own, empty at first and gone afterwards. Where a case says nothing of what is printed, anything may
// be.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/result.hpp"

namespace calcant::acceptance {

struct Line {
  int number = 0;  // in the case file, from 1
  std::string text;
};

struct Step {
  Line command;
  int exit = 0;
  bool any_failure = false;  // "exit: not 0"
  std::vector<Line> out;     // patterns; empty: not looked at
  std::vector<Line> err;
  std::vector<Line> json;
  std::vector<Line> files;
};

struct Case {
  std::vector<std::string> needs;
  std::vector<Step> steps;
};

// What a command did.
struct Answer {
  int exit = 0;
  std::string out;
  std::string err;
};

// The error's `where` is `name:line`.
[[nodiscard]] Result<Case> parse_case(std::string_view text, std::string_view name);

// Whether the whole of `text` is what the patterns say, in their order. Spaces at the end of a line do not
// count.
[[nodiscard]] bool matches(const std::vector<Line>& patterns, std::string_view text);

// A sentence for each thing the answer was wrong in, beginning with the line of the case file that says so.
// $OUT in file checks stands for `out_folder`.
[[nodiscard]] std::vector<std::string> faults(const Step& step, const Answer& answer, const std::string& out_folder);

// Runs a command by the shell in this folder, with `program_folder` first on PATH and OUT set.
[[nodiscard]] Answer run(const std::string& command, const std::string& program_folder, const std::string& out_folder);

}  // namespace calcant::acceptance
