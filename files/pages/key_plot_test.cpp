#include "files/pages/key_plot.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <regex>

namespace calcant {
namespace {

using testing::HasSubstr;
using testing::Not;

int count(const std::string& text, const std::string& what) {
  int n = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++n;
  return n;
}

KeyPlot octave() {
  KeyPlot p{"Pitch", "cents", false, 10.0, {}};
  for (int midi = 60; midi <= 72; ++midi)
    p.points.push_back({midi, "k" + std::to_string(midi), 0.3 * (midi % 3) - 0.3, 0.2, false, false});
  return p;
}

TEST(KeyPlot, APointAKeyWithItsBar) {
  const std::string svg = key_plot(octave());
  EXPECT_EQ(count(svg, "<circle class=\"in\""), 13);
  EXPECT_EQ(count(svg, "class=\"bar\""), 3 * 13);  // a stroke and two feet each
  EXPECT_THAT(svg, HasSubstr(">C4<"));
  EXPECT_THAT(svg, HasSubstr(">C5<"));
  EXPECT_THAT(svg, HasSubstr("nought"));
}

TEST(KeyPlot, ANoteFarOffStandsAtTheEdgeWithItsFigure) {
  KeyPlot p = octave();
  p.points[4].value = -140.0;
  p.points[4].stands_out = true;
  const std::string svg = key_plot(p);
  EXPECT_THAT(svg, HasSubstr("k64 \u2212140"));
  // The others are not pressed flat: the axis still shows ones.
  EXPECT_THAT(svg, HasSubstr(">2<"));
  EXPECT_THAT(svg, Not(HasSubstr(">\u2212100<")));
}

TEST(KeyPlot, SilentKeysAndNothingAtAll) {
  KeyPlot p = octave();
  p.points[3].silent = true;
  EXPECT_EQ(count(key_plot(p), "class=\"cross\""), 2);
  for (auto& point : p.points) {
    point.value.reset();
    point.silent = false;
  }
  EXPECT_EQ(key_plot(p), "");
  EXPECT_EQ(key_plot(KeyPlot{}), "");
}

// Every coordinate lies on the sheet, whatever the values.
TEST(KeyPlot, StaysOnTheSheet) {
  KeyPlot p{"Speech", "ms", true, 4.0, {}};
  for (int midi = 24; midi <= 96; ++midi)
    p.points.push_back({midi, "<&>", midi == 30 ? 1e-9 : midi == 40 ? 1e9 : 2000.0 / midi, 50.0, midi % 5 == 0, false});
  const std::string svg = key_plot(p);
  EXPECT_THAT(svg, Not(HasSubstr("nan")));
  EXPECT_THAT(svg, Not(HasSubstr("inf")));
  EXPECT_THAT(svg, Not(HasSubstr("<&>")));
  const std::regex number("c?[xy][12]?=\"(-?[0-9.]+)\"");
  for (auto it = std::sregex_iterator(svg.begin(), svg.end(), number); it != std::sregex_iterator(); ++it) {
    const double v = std::stod((*it)[1]);
    EXPECT_GE(v, -4.0);
    EXPECT_LE(v, 724.0);
  }
}

}  // namespace
}  // namespace calcant
