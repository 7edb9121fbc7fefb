#include "jobs/lost_notes.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "engine/organ/sounding.hpp"

namespace calcant {
namespace {

// The section of a piece that holds at a performed time.
const Section* section_at(const Item& item, const Score& score, Rational t) {
  const Section* holds = &item.sections.front();
  for (const Section& s : item.sections) {
    if (performed_at(score, s.from).value_or(Rational{0}) <= t) holds = &s;
  }
  return holds;
}

}  // namespace

Chord keys_wanted(const Score& score) {
  Chord all;
  for (const Press& p : presses(score)) {
    if (p.role == Role::not_played) continue;
    (p.role == Role::feet ? all.feet : p.role == Role::left_hand ? all.left : all.right).insert(p.key.midi);
  }
  return all;
}

std::vector<int> lost_by_stop(const OrganContext& context, const Chord& wanted) {
  const bool any =
      std::any_of(context.organ.dead.begin(), context.organ.dead.end(), [](NoteSet dead) { return !dead.empty(); });
  if (!any) return {};
  Sounding whole(context.described);
  Sounding today(context.organ);
  PipeSet all;
  PipeSet left;
  std::vector<int> out(context.organ.stops.size());
  for (std::size_t s = 0; s < out.size(); ++s) {
    const auto home = context.organ.divisions[static_cast<std::size_t>(context.organ.stops[s].division)].keyboard;
    if (!home) continue;
    const Keyboard& keyboard = context.organ.keyboards[static_cast<std::size_t>(*home)];
    Registration alone;
    alone.box.fill(1.0F);
    alone.stops.set(s);
    KeysDown down;
    down.keys[static_cast<std::size_t>(*home)] =
        (keyboard.pedal ? wanted.feet : wanted.left | wanted.right) & keyboard.keys;
    whole.pipes(alone, down, all);
    today.pipes(alone, down, left);
    out[s] = all.size() - left.size();
  }
  return out;
}

std::vector<std::string> lost_notes(const OrganContext& context, const Item& item, const Score& score) {
  std::vector<std::string> out;
  if (faults_of_the_day(context).empty()) return out;
  Sounding whole(context.described);
  Sounding today(context.organ);
  PipeSet all;
  PipeSet left;
  std::map<PipeId, int> wanted;
  for (const Section& section : item.sections) {
    const bool piece = item.kind == ItemKind::piece;
    if (!piece && section.from.verse == 0) continue;
    const Rational from = piece ? performed_at(score, section.from).value_or(Rational{0}) : Rational{0};
    for (const Press& p : presses(score)) {
      if (piece && (p.start < from || section_at(item, score, p.start) != &section)) continue;
      const auto keyboard = section.keyboards.of(p.role);
      if (!keyboard) continue;
      KeysDown down;
      down.keys[static_cast<std::size_t>(*keyboard)].insert(p.key.midi);
      whole.pipes(section.drawn, down, all);
      today.pipes(section.drawn, down, left);
      for (std::size_t r = 0; r < all.ranks.size(); ++r) {
        for (const int n : all.ranks[r] - left.ranks[r]) ++wanted[{static_cast<RankIndex>(r), n}];
      }
    }
  }
  for (const auto& [pipe, times] : wanted) {
    const Rank& rank = context.organ.ranks[static_cast<std::size_t>(pipe.rank)];
    out.push_back(
        fmt::format("{}, {} does not speak today and is wanted {} time{}; other stops would have cost more. --not "
                    "with the stop's name plans without it.",
                    rank.name, name(key_of(context.organ, pipe)), times, times == 1 ? "" : "s"));
  }
  return out;
}

std::vector<std::string> faults_of_the_day(const OrganContext& context) {
  std::vector<std::string> out = context.allowed_for;
  const auto told = [&out](const std::string& what) {
    return std::any_of(out.begin(), out.end(), [&](const std::string& t) { return t.starts_with(what); });
  };
  for (const auto& d : context.day.dead) {
    const auto rank = rank_by_id(context.organ, d.rank);
    if (!rank || (!d.note.empty() && told(d.note))) continue;
    const Rank& r = context.organ.ranks[static_cast<std::size_t>(*rank)];
    out.push_back(fmt::format("{}, {}: {}", r.name, name(Note{r.low_key.midi + d.number - 1}),
                              d.note.empty() ? "does not speak" : d.note));
  }
  for (const Stop& s : context.organ.stops) {
    if (s.out_of_use && !told(full_name(s) + " is out of use")) {
      out.push_back(fmt::format("{} {}: out of use", context.organ.divisions[static_cast<std::size_t>(s.division)].name,
                                full_name(s)));
    }
  }
  return out;
}

}  // namespace calcant
