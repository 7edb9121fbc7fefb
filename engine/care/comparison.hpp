// Two measurings of one stop set against each other: what changed, beyond what either could know.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/quantity/note.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

// One measuring of a stop, as the book keeps it.
struct OneMeasuring {
  std::string date;
  std::optional<Celsius> temperature;  // at the pipes
  std::string place;                   // of the microphone
  bool close = false;
  struct Pipe {
    Note key;
    std::string state;           // speaks, dead, ...
    std::optional<Cents> cents;  // against the organ's pitch at that day's temperature
    std::optional<Cents> cents_95;
    std::optional<Cents> in_run;  // against the run's own middle
    std::optional<Cents> in_run_95;
    std::optional<Decibels> level;  // against the run's middle
    std::optional<Decibels> level_95;
    std::optional<double> speech_ms;
    bool room_limited = false;
  };
  std::vector<Pipe> pipes;
};

struct MeasuredChange {
  double by = 0.0;        // cents, dB; speech: times
  double half_width = 0;  // 95 % over all notes together; speech: the factor it must pass
  bool sure = false;      // beyond it
};
struct ComparedNote {
  Note key;
  std::string before;  // state
  std::string after;
  std::optional<MeasuredChange> pitch;   // within the run
  std::optional<MeasuredChange> level;   // within the run
  std::optional<MeasuredChange> speech;  // after over before
  [[nodiscard]] bool changed() const {
    return before != after || (pitch && pitch->sure) || (level && level->sure) || (speech && speech->sure);
  }
};
struct Comparison {
  Celsius before_at;
  Celsius after_at;
  std::optional<MeasuredChange> whole;  // the stop's middle against the organ's pitch, each at its own temperature
  std::vector<ComparedNote> notes;
  std::vector<std::string> remarks;  // what could not be compared, and why
};

// Refused where either temperature is missing (a flue moves 3 cents a kelvin), or the two have fewer than three keys in
// common. A note's change counts where it lies outside the two intervals taken together, widened so that a stop in which
// nothing changed shows one change in twenty comparisons, not one in twenty notes (Bonferroni). Level also needs 3 dB, and
// the microphone in the same place (its words the same, and some): a standing wave is no change of the pipe. Speech needs
// half as long again (assumed) and a close microphone both times.
[[nodiscard]] Result<Comparison> compare(const OneMeasuring& before, const OneMeasuring& after);

// How a rank's pitch moved with the temperature, learnt from measurings.
struct Warmth {
  Cents per_kelvin;
  Cents per_kelvin_95;    // half width
  double flue_share = 0;  // of a flue's movement at the mean temperature: 1 for flues, little for reeds
  int measurings = 0;
  Celsius coldest;
  Celsius warmest;
};
// The mean height of the pipes that all have, in cents against one and the same pitch, by the temperature of the day.
struct WarmthPoint {
  Celsius at;
  Cents height;
  Cents own_95;  // of the recorder and of the pipes; the temperature's own is allowed for here
};
// Straight line by least squares. Half width: what the points' own and the temperatures' uncertainty (half a kelvin each)
// leave, or what their scatter about the line says (Student's t, three points or more), whichever is more. Refused with
// fewer than two points, or less than 3 K between the coldest and the warmest.
[[nodiscard]] Result<Warmth> warmth(const std::vector<WarmthPoint>& points);

}  // namespace calcant
