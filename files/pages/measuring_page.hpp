// What was measured, on paper: each stop's pitch, speech and level along its keys with their uncertainty; and, on pages of
// their own, what stands out, what may be behind it, and what the organist can try without opening the case.
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace calcant {

struct MeasuringPage {
  // One key. Figures that could not be had are left out of the plots; a key that gave no sound is marked at the foot.
  struct Point {
    int midi = 60;
    std::string name;        // "C4"
    std::string state;       // speaks, dead, cipher, wrong, unsure
    bool pitch_out = false;  // a finding names it: each figure's own, so that only the plot it shows in marks it
    bool speech_out = false;
    bool level_out = false;
    std::optional<double> cents;  // from the middle of the run, and its 95 % half width
    std::optional<double> cents_95;
    std::optional<double> speech_ms;
    double resolution_ms = 0.0;      // nothing shorter can be told
    std::optional<double> level;     // dB from the middle of the run
    std::optional<double> level_sd;  // how evenly it sounds
  };
  struct StopMeasured {
    std::string name;
    std::string date;
    std::string conditions;  // "14.5 C at the pipes, nave, row 3"
    std::string whole;       // where the whole stop stands, in words
    bool room_limited = false;
    std::vector<Point> points;
  };
  struct Trouble {
    std::string sentence;
    std::vector<std::string> causes;
    std::vector<std::string> organist;  // what to try with keys, stops, couplers, box and wind
    std::vector<std::string> builder;   // what is left to the builder
  };
  struct TroublesOf {
    std::string name;  // the stop, or "Several stops"
    std::vector<Trouble> troubles;
  };

  std::string organ;
  bool invented = false;
  std::vector<StopMeasured> stops;
  std::vector<TroublesOf> troubles;
  std::vector<std::string> remarks;
};

[[nodiscard]] std::string measuring_page(const MeasuringPage& page);

}  // namespace calcant
