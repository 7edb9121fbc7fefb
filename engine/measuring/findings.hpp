// What is wrong along a rank, set against the rank's own smooth course, and what may be behind it.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "engine/measuring/note.hpp"
#include "engine/measuring/run_plan.hpp"

namespace calcant {

enum class FindingKind {
  dead,
  cipher,
  wrong_note,
  pipe_missing,  // of a key with several
  off_speech,
  out_of_tune,
  too_loud,
  too_soft,
  slow_speech,
  late,
  unsteady,
  beats,
  noisy,
  uneven
};
[[nodiscard]] std::string_view word(FindingKind k);

enum class Who { organist, builder };
[[nodiscard]] std::string_view word(Who w);

// One thing a person can do to tell causes apart. The organist's use only keys, stops, couplers, box and wind; anything
// inside the case is the builder's.
struct SeparatingTest {
  std::string what;
  Who who = Who::organist;
};

struct Finding {
  FindingKind kind = FindingKind::dead;
  std::vector<Note> keys;           // in the plan's order
  std::string shared;               // what they have in common ("C sharp side", "one octave"), empty for none
  double amount = 0.0;              // worst: cents, dB, times the usual, seconds; by kind
  double amount_95 = 0.0;           // half width, where known
  std::string sentence;             // whole cents, whole dB: for people
  std::vector<std::string> causes;  // likeliest first
  std::vector<SeparatingTest> tests;
  Who who = Who::builder;  // who mends it
};

// Sizes from which a note stands out: the deviation from the rank's course must exceed them and its own uncertainty.
struct FindingSizes {
  Cents pitch{4.0};
  Decibels level{3.2};
  double speech = 1.7;  // times the usual, in periods
  Seconds late{0.060};
  Cents unsteadiness{3.0};
  Decibels noise{8.0};
};

[[nodiscard]] std::vector<Finding> findings(std::span<const MeasuredNote> notes, const FindingSizes& sizes = {});

// The rank's own course through values along its keys, blind to single notes that stand out: local straight lines
// through `reach` neighbours on both sides, weighted by distance (tricube) and by Tukey's biweight (Cleveland, J. Am.
// Stat. Assoc. 74 (1979) 829). Notes without value take none; fewer than five values give their median.
[[nodiscard]] std::vector<double> smooth_course(std::span<const double> key, std::span<const double> value,
                                                double reach = 9.0);

}  // namespace calcant
