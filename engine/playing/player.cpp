#include "engine/playing/player.hpp"

#include <array>
#include <utility>

namespace calcant {

namespace {
constexpr std::array<std::pair<FeetStyle, std::string_view>, 4> style_words{{
    {FeetStyle::legato, "legato"},
    {FeetStyle::toes, "toes"},
    {FeetStyle::left_foot_only, "left-foot-only"},
    {FeetStyle::simplified, "simplified"},
}};
}  // namespace

std::string_view word(FeetStyle s) { return style_words[static_cast<std::size_t>(s)].second; }

Result<FeetStyle> parse_feet_style(std::string_view text) {
  for (const auto& [style, name] : style_words) {
    if (text == name) return style;
  }
  return fail("\"" + std::string(text) +
              "\" is not a way to take the pedals: say legato, toes, left-foot-only or simplified.");
}

Player default_player() {
  const std::string span = "Parncutt et al. 1997, thumb to fifth finger (from memory), less a semitone";
  const std::string knob = "derived from Fitts' law, constants from memory; time five changes of your own";
  Player p;
  p.left = {assumed(12, span), assumed(14, span)};
  p.right = p.left;
  p.foot_span = assumed(4, "heel and toe of one foot: a major third; never more in one editor's 454 marks");
  p.one_knob = assumed(Seconds{1.5}, knob);
  p.further_knob = assumed(Seconds{0.5}, knob);
  p.foot_accessory = assumed(Seconds{0.8}, knob);
  p.page_turn = assumed(Seconds{1.5}, "taken as one knob; no figure found");
  p.leap = assumed(Seconds{0.3}, "common practice, no source");
  return p;
}

Seconds seconds_for(const Player& p, int knobs) {
  if (knobs <= 0) return Seconds{0};
  return p.one_knob.value + p.further_knob.value * static_cast<double>(knobs - 1);
}

}  // namespace calcant
