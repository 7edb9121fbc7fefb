#include "jobs/lost_notes.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "engine/organ/sounding.hpp"

namespace calcant {
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
