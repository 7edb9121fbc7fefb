#include "jobs/reasons.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/quantity/listed.hpp"

namespace calcant {
namespace {

// The step of sharpness that can just be told: 0.04 to 0.08 acum after Pedrielli, Carletti and Casazza (2008), as quoted
// elsewhere; the paper was not seen. Less is the same colour.
constexpr double colour_told = 0.06;

// Names of the neighbours that are heard, the greatest first.
std::string neighbours_sentence(const Organ& organ, const std::vector<Neighbour>& all, bool drawn) {
  std::vector<const Neighbour*> told;
  for (const Neighbour& n : all) {
    if (n.drawn == drawn && n.difference >= Difference::audible) told.push_back(&n);
  }
  // As it is told, to a tenth, so that what is the same stays in the knobs' order.
  std::stable_sort(told.begin(), told.end(), [](const Neighbour* a, const Neighbour* b) {
    return std::lround(10 * std::abs(a->phons)) > std::lround(10 * std::abs(b->phons));
  });
  if (told.size() > 4) told.resize(4);
  std::string out;
  for (const Neighbour* n : told) {
    out += fmt::format("{}{} {:+.1f} phon, {}", out.empty() ? "" : "; ", full_name(organ, n->knob), n->phons,
                       n->acums > colour_told    ? "brighter"
                       : n->acums < -colour_told ? "darker"
                                                 : "the same colour");
  }
  return out;
}

// As it is engraved; with its division, where another knob is engraved alike.
std::string name_of(const Organ& organ, Knob knob) {
  const std::string name = full_name(organ, knob);
  if (knob.kind != Knob::Kind::stop) return name;
  const auto alike =
      std::count_if(organ.stops.begin(), organ.stops.end(), [&](const Stop& s) { return full_name(s) == name; });
  const DivisionIndex division = organ.stops[static_cast<std::size_t>(knob.index)].division;
  return alike < 2 ? name : organ.divisions[static_cast<std::size_t>(division)].name + ": " + name;
}

// What goes with each knob put in; of one without which nothing is left, only that.
std::string lost_sentence(const Organ& organ, const Chosen& c) {
  std::vector<Neighbour> told;
  std::vector<std::string> needed;
  std::size_t drawn = 0;
  for (const Neighbour& n : c.neighbours) {
    if (!n.drawn) continue;
    ++drawn;
    const bool silent = c.heard.phons + n.phons < 1;
    if (silent) needed.push_back(name_of(organ, n.knob));
    else told.push_back(n);
  }
  if (drawn == 1) return "it stands alone";
  std::string out = neighbours_sentence(organ, told, true);
  if (!out.empty()) out = "put in, this goes: " + out;
  if (!needed.empty()) out += (out.empty() ? "" : "; ") + ("without " + listed(needed) + " nothing sounds");
  return out;
}

}  // namespace

std::string place_words(const OrganContext& context) {
  return context.condition.place == PlaceKind::bench ? "at the bench" : "in the nave";
}

std::vector<std::string> reasons_of(const OrganContext& context, const Chosen& c, const LevelAsked& asked,
                                    Colour colour) {
  const Organ& organ = context.organ;
  std::vector<std::string> out;
  std::string chords;
  for (const Heard& h : c.heard.chords) {
    chords += fmt::format("{}{:.0f}", chords.empty() ? "" : ", ", h.loudness.phons.value());
  }
  out.push_back(
      fmt::format("{:.0f} phon {}, the mean of its chords ({})", c.heard.phons, place_words(context), chords));
  if (asked.singers) {
    const double low = c.heard.phons - asked.singers->low.value();
    const double high = c.heard.phons - asked.singers->high.value();
    out.push_back(
        fmt::format("if they sing softly it stands {:.0f} phon over them; if they sing out, {:.0f} phon {} them", low,
                    std::abs(high), high < 0 ? "under" : "over"));
  }
  const bool ordinary = colour == Colour::any && c.brighter_than && *c.brighter_than > 0.2 && *c.brighter_than < 0.8;
  if (c.brighter_than && !ordinary) {
    out.push_back(*c.brighter_than >= 0.5
                      ? fmt::format("brighter than {:.0f} in 100 of what is allowed at this level (brightness {:.2f})",
                                    std::min(99.0, std::round(100 * *c.brighter_than)), c.heard.acums)
                      : fmt::format("darker than {:.0f} in 100 of what is allowed at this level (brightness {:.2f})",
                                    std::min(99.0, std::round(100 * (1 - *c.brighter_than))), c.heard.acums));
  }
  if (c.played != 0) {
    out.push_back(fmt::format("the hands play an octave {}: what is drawn sounds at the written pitch",
                              c.played > 0 ? "higher" : "lower"));
  }
  if (c.box_reserve >= 1) {
    out.push_back(fmt::format("opening the box brings {:.0f} phon more without a hand", c.box_reserve));
  }
  const std::string lost = lost_sentence(organ, c);
  if (!lost.empty()) out.push_back(lost);
  const std::string gained = neighbours_sentence(organ, c.neighbours, false);
  if (!gained.empty()) out.push_back("what one knob more would add: " + gained);
  const auto some = [](double n, std::string_view what) {
    return fmt::format("{:.0f} {}{}", n, what, std::lround(n) == 1 ? "" : "s");
  };
  out.push_back(
      fmt::format("takes {} of wind a second and {}", some(c.heard.wind, "litre"), some(c.heard.pipes, "pipe")));
  return out;
}

std::vector<std::string> weighed_reasons(const Organ& organ, const WeighedRegistration& w) {
  std::vector<std::string> each;
  std::vector<std::string> doubtful;
  std::vector<std::string> unheard;
  for (const KnobWeight& k : w.knobs) {
    if (!k.drawn) continue;
    const std::string name = name_of(organ, k.knob);
    each.push_back(fmt::format("{} {}", name, verdict(k)));
    if (k.verdict_holds < holds) doubtful.push_back(name);
    else if (k.change.difference < Difference::audible) unheard.push_back(name);
  }
  // "Heard" is said of what is heard in nine draws of ten.
  std::string heard;
  if (!unheard.empty()) heard += fmt::format("without {} the middle chord is much the same", listed(unheard));
  if (!doubtful.empty()) {
    heard += fmt::format("{}on the middle chord {} {} on assumed levels", heard.empty() ? "" : "; ", listed(doubtful),
                         doubtful.size() == 1 ? "depends" : "depend");
  }
  if (heard.empty()) heard = "on the middle chord every knob is heard, the assumed levels varied";
  return {fmt::format("{}: give or take {:.0f} phon",
                      w.all_assumed ? "its levels are assumed" : "as far as its levels are known", w.phon_95.value()),
          fmt::format("{}: {}", heard, fmt::join(each, "; "))};
}

}  // namespace calcant
