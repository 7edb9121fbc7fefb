#include "engine/plan/made_ready.hpp"

#include <fmt/format.h>

#include <map>
#include <tuple>

#include "engine/organ/sounding.hpp"
#include "engine/quantity/listed.hpp"

namespace calcant {
namespace {

// By section and division: whether any key that is played there reaches it.
std::vector<std::vector<bool>> reached(const Organ& organ, const Item& item) {
  Sounding sounding(organ);
  std::vector<std::vector<bool>> out;
  for (const Section& s : item.sections) {
    KeysDown down;
    for (const auto& k : {s.keyboards.right, s.keyboards.left, s.keyboards.feet})
      if (k) down.keys[static_cast<std::size_t>(*k)] = organ.keyboards[static_cast<std::size_t>(*k)].keys;
    std::vector<bool>& divisions = out.emplace_back();
    for (const NoteSet& notes : sounding.notes(s.drawn, down)) divisions.push_back(notes.size() > 0);
  }
  return out;
}

}  // namespace

std::vector<std::string> made_ready(const Organ& organ, const Item& item) {
  const auto plays = reached(organ, item);
  // Drawn at, first heard at, division: the stops.
  std::map<std::tuple<std::size_t, std::size_t, DivisionIndex>, std::vector<std::string>> ready;
  for (std::size_t i = 0; i < organ.stops.size(); ++i) {
    const Stop& stop = organ.stops[i];
    std::optional<std::size_t> silent_from;
    for (std::size_t s = 0; s < item.sections.size(); ++s) {
      if (!item.sections[s].drawn.stops[i]) silent_from.reset();
      else if (!plays[s][static_cast<std::size_t>(stop.division)]) silent_from = silent_from.value_or(s);
      else if (silent_from) {
        const bool was_heard =
            *silent_from > 0 && item.sections[*silent_from - 1].drawn.stops[i];  // kept, where hands went elsewhere
        if (!was_heard) ready[{*silent_from, s, stop.division}].push_back(full_name(stop));
        silent_from.reset();
      }
    }
  }
  std::vector<std::string> out;
  for (const auto& [where, stops] : ready) {
    const auto& [from, to, division] = where;
    out.push_back(fmt::format("{} {} {} drawn {} and {} first heard at {}.",
                              organ.divisions[static_cast<std::size_t>(division)].name, listed(stops),
                              stops.size() == 1 ? "is" : "are",
                              from == 0 ? std::string{"from the beginning"} : "at " + item.sections[from].label,
                              stops.size() == 1 ? "is" : "are", item.sections[to].label));
  }
  return out;
}

}  // namespace calcant
