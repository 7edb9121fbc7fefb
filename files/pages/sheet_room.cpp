#include "files/pages/sheet_room.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace calcant {
namespace {

using M = SheetMeasures;

// Widths in ems, measured on printed sheets in DejaVu Serif, the widest face of the style's list.
constexpr double letter = 0.54;
constexpr double bold_letter = 0.59;
constexpr double gap = 0.85;  // behind a group
constexpr double points_in_mm = 72 / 25.4;
// The sheet's heading, and the line at its foot, in ems.
constexpr double heading = 3.4;
constexpr double foot = 2.2;

double letters_of(std::string_view text) {
  return static_cast<double>(
      std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

class Lines {
 public:
  explicit Lines(double width) : width_(width) {}
  // A piece that is not broken, and the gap behind it.
  void put(double piece, double behind) {
    if (at_ > 0 && at_ + piece > width_) {
      ++lines_;
      at_ = 0;
    }
    at_ += piece + behind;
    lines_ = std::max(lines_, 1);
  }
  [[nodiscard]] int count() const { return lines_; }

 private:
  double width_;
  double at_ = 0;
  int lines_ = 0;
};

int lines_of(const std::vector<SheetPhrase>& phrases, double width) {
  using Look = SheetPhrase::Look;
  Lines lines(width);
  for (const SheetPhrase& p : phrases) {
    const bool bold =
        p.look == Look::fresh || p.look == Look::change || p.look == Look::helper || p.look == Look::place;
    const double wide = bold ? bold_letter : letter;
    std::string_view rest = p.text;
    double lead = p.lead.empty() ? 0 : (letters_of(p.lead) + 1) * letter;
    while (!rest.empty()) {
      // Broken behind commas, a word for how it sounds wherever it has a space.
      auto end = rest.find_first_of(p.look == Look::word ? " " : ",;");
      end = end == std::string_view::npos ? rest.size() : end + 1;
      const bool last = end >= rest.size();
      lines.put(lead + letters_of(rest.substr(0, end)) * wide, last && p.ends_group ? gap : 0.3);
      lead = 0;
      rest.remove_prefix(end);
    }
  }
  return lines.count();
}

int text_lines(const std::string& text, double width) {
  return static_cast<int>(std::ceil(letters_of(text) * letter / width));
}

double height_of(const SheetItem& item, double width, double line) {
  const double beside = width - M::margin_column;
  const double title = letters_of(item.number + item.title) * bold_letter * M::title + letters_of(item.about) * letter;
  double h = M::above_item + std::ceil(title / beside) * M::title * line;
  for (const std::string& note : item.notes) h += text_lines(note, beside) * line;
  for (const SheetStep& step : item.steps)
    h += M::above_step + std::max(1, lines_of(step.change, beside) + lines_of(step.state, beside)) * line;
  return h;
}

// Sides the items take when none is broken, or when they run on.
int sides_of(const std::vector<SheetItem>& items, const SheetSize& size) {
  const double em_mm = size.points / points_in_mm;
  const double width = M::page_width_mm / em_mm;
  const double height = M::page_height_mm / em_mm;
  double at = heading;
  int sides = 1;
  for (const SheetItem& item : items) {
    const double h = height_of(item, width, size.line);
    if (size.items_whole && at + h > height) {
      ++sides;
      at = 0;
    }
    at += h;
    while (at > height) {  // run on, or longer than a side
      ++sides;
      at -= height;
    }
  }
  return at + foot > height ? sides + 1 : sides;
}

}  // namespace

SheetSize sheet_size(const Organ& organ, const Plan& plan) {
  using D = SheetDetail;
  constexpr double close = 1.18;  // from line to line where room is short
  // As large as it fits, on as few sides; the sheet is turned within an item before a second one is taken.
  constexpr std::array<SheetSize, 8> sizes{{{17, 1.24, D::full, 1, true},
                                            {14, 1.24, D::full, 1, true},
                                            {14, 1.24, D::brief, 1, true},
                                            {14, 1.24, D::brief, 2, true},
                                            {12.5, close, D::brief, 2, true},
                                            {12.5, close, D::brief, 2, false},
                                            {12.5, close, D::least, 2, true},
                                            {12.5, close, D::least, 2, false}}};
  std::array<std::vector<SheetItem>, 3> items;
  for (const D d : {D::full, D::brief, D::least}) items[static_cast<std::size_t>(d)] = sheet_items(organ, plan, d);
  for (const SheetSize& size : sizes) {
    if (sides_of(items[static_cast<std::size_t>(size.detail)], size) <= size.sides) return size;
  }
  SheetSize many{12.5, close, D::brief, 0, true};
  many.sides = sides_of(items[static_cast<std::size_t>(D::brief)], many);
  return many;
}

}  // namespace calcant
