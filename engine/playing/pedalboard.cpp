#include "engine/playing/pedalboard.hpp"

#include <array>

namespace calcant {

namespace {
constexpr double common_spacing = 0.0635;  // m, 2 1/2 in between naturals (AGO sheet, quoted by a builder)

double naturals_up(Note key) {
  constexpr std::array<double, 12> place{0, 0.5, 1, 1.5, 2, 3, 3.5, 4, 4.5, 5, 5.5, 6};
  return 7.0 * (key.midi / 12) + place[static_cast<std::size_t>(key.midi % 12)];
}
}  // namespace

Pedalboard::Pedalboard() : centre_(naturals_up(Note{50})) {}

Pedalboard::Pedalboard(const Console& c) : Pedalboard() {
  const int under_d = c.pedal_under_middle_d.value.midi;
  if (under_d > 0 && under_d <= highest_midi) centre_ = naturals_up(Note{under_d});
  const double spacing = c.pedal_spacing.value.value();
  if (spacing > 0.04 && spacing < 0.1) scale_ = spacing / common_spacing;
  reach_ = (c.radiating ? 1.0 : 1.1) * (c.concave ? 1.0 : 1.1);
}

double Pedalboard::across(Note key) const { return (naturals_up(key) - centre_) * scale_; }

}  // namespace calcant
