#include "files/pages/key_plot.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "files/pages/html.hpp"

namespace calcant {
namespace {

// Millimetre-like units of the drawing; it is scaled to the width of the page.
constexpr double width = 720.0;
constexpr double height = 196.0;
constexpr double left = 52.0;
constexpr double right = 12.0;
constexpr double top = 22.0;
constexpr double bottom = 34.0;

struct Axis {
  double low = 0.0;
  double high = 1.0;
  std::vector<double> ticks;
  bool logarithmic = false;
  [[nodiscard]] double at(double v) const {
    const double share = logarithmic ? std::log(v / low) / std::log(high / low) : (v - low) / (high - low);
    return height - bottom - std::clamp(share, 0.0, 1.0) * (height - top - bottom);
  }
  [[nodiscard]] bool holds(double v) const { return v >= low && v <= high; }
};

double quantile(std::vector<double> v, double q) {
  std::ranges::sort(v);
  return v[static_cast<std::size_t>(q * static_cast<double>(v.size() - 1))];
}

// 1, 2 or 5 times a power of ten, for five steps or so.
double step_for(double span) {
  const double raw = span / 5.0;
  const double ten = std::pow(10.0, std::floor(std::log10(raw)));
  for (const double m : {1.0, 2.0, 5.0})
    if (raw <= m * ten) return std::max(1.0, m * ten);
  return std::max(1.0, 10.0 * ten);
}

Axis axis_for(const KeyPlot& plot) {
  std::vector<double> low;
  std::vector<double> high;
  for (const auto& p : plot.points) {
    if (!p.value) continue;
    low.push_back(*p.value - (plot.logarithmic ? 0.0 : p.half_width));
    high.push_back(*p.value + (plot.logarithmic ? 0.0 : p.half_width));
  }
  Axis a;
  a.logarithmic = plot.logarithmic;
  if (low.empty()) {
    a.low = plot.logarithmic ? 10.0 : -plot.least_span / 2.0;
    a.high = plot.logarithmic ? 100.0 : plot.least_span / 2.0;
  } else {
    // A few notes far off must not press all others flat: three times the spread of the middle four fifths.
    const double q1 = quantile(low, 0.1);
    const double q9 = quantile(high, 0.9);
    if (plot.logarithmic) {
      const double spread = std::max(plot.least_span, q9 / std::max(q1, 1e-3));
      a.low = std::max(std::ranges::min(low), q1 / spread);
      a.high = std::min(std::ranges::max(high), q9 * spread);
    } else {
      const double spread = std::max(plot.least_span / 2.0, 1.5 * (q9 - q1));
      a.low = std::max(std::ranges::min(low), q1 - spread);
      a.high = std::min(std::ranges::max(high), q9 + spread);
      const double lack = plot.least_span - (a.high - a.low);
      if (lack > 0.0) {
        a.low -= lack / 2.0;
        a.high += lack / 2.0;
      }
    }
  }
  if (plot.logarithmic) {
    a.low = std::max(1.0, a.low * 0.8);
    a.high = std::max(a.high * 1.25, a.low * 4.0);
    for (double ten = 1.0; ten < 1e5; ten *= 10.0)
      for (const double m : {1.0, 2.0, 5.0})
        if (a.holds(m * ten)) a.ticks.push_back(m * ten);
  } else {
    const double step = step_for(a.high - a.low);
    a.low = std::floor(a.low / step) * step;
    a.high = std::ceil(a.high / step) * step;
    for (double t = a.low; t <= a.high + step / 2.0; t += step) a.ticks.push_back(std::round(t / step) * step);
  }
  return a;
}

std::string line(std::string_view kind, double x1, double y1, double x2, double y2) {
  return fmt::format("<line class=\"{}\" x1=\"{:.1f}\" y1=\"{:.1f}\" x2=\"{:.1f}\" y2=\"{:.1f}\"/>", kind, x1, y1, x2,
                     y2);
}
std::string text(std::string_view kind, double x, double y, std::string_view words) {
  return fmt::format("<text class=\"{}\" x=\"{:.1f}\" y=\"{:.1f}\">{}</text>", kind, x, y, escaped(words));
}

std::string tick_label(double v) { return fmt::format("{}{:.0f}", v < 0 ? "\u2212" : "", std::fabs(v)); }

class Drawing {
 public:
  explicit Drawing(const KeyPlot& plot) : plot_(plot), axis_(axis_for(plot)) {
    low_ = std::ranges::min_element(plot.points, {}, &KeyPlot::Point::midi)->midi;
    high_ = std::ranges::max_element(plot.points, {}, &KeyPlot::Point::midi)->midi;
  }

  std::string svg() {
    out_ = fmt::format("<svg class=\"keys\" viewBox=\"0 0 {:.0f} {:.0f}\" role=\"img\" aria-label=\"{}\">\n", width,
                       height, escaped(plot_.title));
    frame();
    for (const auto& p : plot_.points) point(p);
    return out_ + "</svg>\n";
  }

 private:
  [[nodiscard]] double x(int midi) const {
    return left + (width - left - right) * (midi - low_ + 0.5) / (high_ - low_ + 1);
  }

  void frame() {
    const double foot = height - bottom;
    for (const double t : axis_.ticks) {
      const bool nought = !axis_.logarithmic && t == 0.0;
      out_ += line(nought ? "nought" : "grid", left, axis_.at(t), width - right, axis_.at(t));
      out_ += text("tick", left - 5.0, axis_.at(t) + 4.0, tick_label(t));
    }
    for (int midi = low_; midi <= high_; ++midi) {
      if (midi % 12 == 0) {
        out_ += line("octave", x(midi), top, x(midi), foot + 4.0);
        out_ += text("key", x(midi), foot + 16.0, fmt::format("C{}", midi / 12 - 1));
      } else {
        const int n = midi % 12;
        const bool black = n == 1 || n == 3 || n == 6 || n == 8 || n == 10;
        if (!black) out_ += line("octave", x(midi), foot, x(midi), foot + 2.5);
      }
    }
    out_ += line("frame", left, foot, width - right, foot) + line("frame", left, top, left, foot) + "\n";
    out_ += text("unit", 2.0, 10.0, plot_.unit);
  }

  void point(const KeyPlot::Point& p) {
    const double at = x(p.midi);
    if (p.silent) {
      const double y = height - bottom - 6.0;
      out_ += line("cross", at - 3.5, y - 3.5, at + 3.5, y + 3.5) + line("cross", at - 3.5, y + 3.5, at + 3.5, y - 3.5);
      label(at, y - 6.0, p.name);
      return;
    }
    if (!p.value) return;
    const double y = axis_.at(*p.value);
    if (p.half_width > 0.0) {
      const double up = axis_.at(*p.value + p.half_width);
      const double down =
          axis_.at(axis_.logarithmic ? std::max(*p.value - p.half_width, axis_.low) : *p.value - p.half_width);
      out_ += line("bar", at, up, at, down);
      if (down - up > 4.0)
        out_ += line("bar", at - 2.0, up, at + 2.0, up) + line("bar", at - 2.0, down, at + 2.0, down);
    }
    out_ +=
        fmt::format("<circle class=\"{}\" cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{}\"><title>{}: {:.0f} {}</title></circle>\n",
                    p.stands_out ? "out" : "in", at, y, p.stands_out ? "3.6" : "2.4", escaped(p.name), *p.value,
                    escaped(plot_.unit));
    const bool beyond = !axis_.holds(*p.value);
    const bool low_down = y > (top + height - bottom) / 2.0;
    const bool at_the_foot = y > height - bottom - 18.0;
    if (beyond) label(at, low_down ? y - 7.0 : y + 14.0, fmt::format("{} {}", p.name, tick_label(*p.value)));
    else if (p.stands_out) label(at, low_down && !at_the_foot ? y + 14.0 : y - 7.0, p.name);
  }

  // Names that would run into the one before are left out: the list beside the drawing has them all.
  void label(double at, double y, const std::string& words) {
    const double half = 3.6 * static_cast<double>(words.size());
    if (at - half < taken_to_ && std::fabs(y - taken_y_) < 11.0) return;
    taken_to_ = at + half;
    taken_y_ = y;
    out_ += text("name", std::clamp(at, left + half, width - right - half), std::clamp(y, 10.0, height - bottom - 2.0),
                 words);
  }

  const KeyPlot& plot_;
  Axis axis_;
  int low_ = 0;
  int high_ = 0;
  double taken_to_ = -1.0;
  double taken_y_ = -100.0;
  std::string out_;
};

}  // namespace

std::string key_plot(const KeyPlot& plot) {
  const bool something =
      std::ranges::any_of(plot.points, [](const KeyPlot::Point& p) { return p.value.has_value() || p.silent; });
  return something ? Drawing{plot}.svg() : std::string{};
}

}  // namespace calcant
