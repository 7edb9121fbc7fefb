// One figure along the keys of a stop, as a drawing (SVG) for paper: a point a key, its uncertainty as a bar.
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace calcant {

struct KeyPlot {
  struct Point {
    int midi = 60;
    std::string name;
    std::optional<double> value;
    double half_width = 0.0;  // of the bar; 0: none
    bool stands_out = false;  // drawn hollow and named
    bool silent = false;      // a cross at the foot
  };
  std::string title;  // read out where the drawing cannot be seen
  std::string unit;   // "cents"
  bool logarithmic = false;
  double least_span = 0.0;  // the axis shows at least so much (times, where logarithmic)
  std::vector<Point> points;
};

// Empty where no point has a value and none is silent. Values far beyond the rest stand at the edge with their figure.
[[nodiscard]] std::string key_plot(const KeyPlot& plot);

}  // namespace calcant
