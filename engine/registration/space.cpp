#include "engine/registration/space.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <map>

namespace calcant {
namespace {

constexpr std::size_t most_stops = 64;
constexpr std::size_t most_couplers = 16;

using Signature = std::vector<std::pair<std::uint64_t, std::uint64_t>>;

// The couplers that can have a say: those of keyboards with keys down, and those that the first ones carry.
std::vector<CouplerIndex> couplers_in_reach(const Organ& organ, std::span<const KeysDown> chords,
                                            const Registration& forbidden) {
  std::vector<bool> in(organ.couplers.size());
  for (std::size_t c = 0; c < in.size(); ++c) {
    if (forbidden.couplers.test(c)) continue;
    for (const KeysDown& down : chords) {
      if (!down.keys[static_cast<std::size_t>(organ.couplers[c].from)].empty()) in[c] = true;
    }
  }
  for (bool more = true; more;) {
    more = false;
    for (std::size_t c = 0; c < in.size(); ++c) {
      if (!in[c]) continue;
      for (const CouplerIndex carried : organ.couplers[c].carries) {
        const auto at = static_cast<std::size_t>(carried);
        if (!in[at] && !forbidden.couplers.test(at)) in[at] = more = true;
      }
    }
  }
  std::vector<CouplerIndex> out;
  for (std::size_t c = 0; c < in.size(); ++c) {
    if (in[c]) out.push_back(static_cast<CouplerIndex>(c));
  }
  return out;
}

std::optional<BoxIndex> box_of(const Organ& organ, RankIndex rank) {
  const Chest& chest = organ.chests[static_cast<std::size_t>(organ.ranks[static_cast<std::size_t>(rank)].chest)];
  return organ.divisions[static_cast<std::size_t>(chest.division)].box;
}

// by_stop[i]: the pipes stop i sounds.
std::vector<Group> groups_of(const Organ& organ, const std::vector<PipeSet>& by_stop) {
  std::map<PipeId, StopMask> stops_of;
  for (std::size_t i = 0; i < by_stop.size(); ++i) {
    for (std::size_t r = 0; r < by_stop[i].ranks.size(); ++r) {
      for (const int number : by_stop[i].ranks[r]) stops_of[{static_cast<RankIndex>(r), number}] |= StopMask{1} << i;
    }
  }
  std::map<std::pair<StopMask, std::optional<BoxIndex>>, Group> groups;
  for (const auto& [pipe, stops] : stops_of) {
    const auto box = box_of(organ, pipe.rank);
    Group& g = groups[{stops, box}];
    g.stops = stops;
    g.box = box;
    g.pipes.push_back(pipe);
  }
  std::vector<Group> out;
  for (auto& [key, g] : groups) out.push_back(std::move(g));
  return out;
}

}  // namespace

Result<Space> Space::make(const Organ& organ, std::span<const KeysDown> chords, const Registration& forbidden) {
  Space space;
  space.organ_ = &organ;
  space.chords_.assign(chords.begin(), chords.end());
  const bool any_key = std::any_of(chords.begin(), chords.end(), [](const KeysDown& down) {
    return std::any_of(down.keys.begin(), down.keys.end(), [](NoteSet keys) { return !keys.empty(); });
  });
  if (!any_key) return fail("no key is held: give the keys the registration is to be heard on");

  space.couplers_ = couplers_in_reach(organ, chords, forbidden);
  if (space.couplers_.size() > most_couplers) {
    return fail(fmt::format("{} couplers reach these keys, more than the {} that can be weighed; forbid some",
                            space.couplers_.size(), most_couplers));
  }
  // Coupler settings that bring the same notes to every division are one linking; the fewest knobs stand for it.
  Sounding sounding{organ};
  std::map<Signature, Linking> found;
  for (std::uint32_t bits = 0; bits < std::uint32_t{1} << space.couplers_.size(); ++bits) {
    Linking linking;
    linking.knobs = std::popcount(bits);
    for (std::size_t i = 0; i < space.couplers_.size(); ++i) {
      if ((bits >> i & 1) != 0) linking.couplers.couplers.set(static_cast<std::size_t>(space.couplers_[i]));
    }
    Signature signature;
    for (const KeysDown& down : chords) {
      for (const NoteSet notes : sounding.notes(linking.couplers, down)) {
        signature.emplace_back(notes.low_bits(), notes.high_bits());
      }
    }
    const auto [it, is_new] = found.try_emplace(std::move(signature), linking);
    if (!is_new && linking.knobs < it->second.knobs) it->second = std::move(linking);
  }
  for (auto& [signature, linking] : found) space.linkings_.push_back(std::move(linking));
  std::stable_sort(space.linkings_.begin(), space.linkings_.end(), [](const Linking& a, const Linking& b) {
    return a.knobs != b.knobs ? a.knobs < b.knobs : a.couplers.couplers.to_ullong() < b.couplers.couplers.to_ullong();
  });

  // What every stop sounds by itself, for each linking and chord.
  std::vector<std::vector<std::vector<PipeSet>>> sounds(space.linkings_.size());
  std::vector<bool> reaches(organ.stops.size());
  for (std::size_t l = 0; l < space.linkings_.size(); ++l) {
    for (std::size_t s = 0; s < organ.stops.size(); ++s) {
      std::vector<PipeSet> on_chords(chords.size());
      for (std::size_t k = 0; k < chords.size(); ++k) {
        Registration drawn = space.linkings_[l].couplers;
        drawn.stops.set(s);
        sounding.pipes(drawn, chords[k], on_chords[k]);
        if (on_chords[k].size() > 0 && !forbidden.stops.test(s)) reaches[s] = true;
      }
      sounds[l].push_back(std::move(on_chords));
    }
  }
  for (std::size_t s = 0; s < reaches.size(); ++s) {
    if (reaches[s]) space.stops_.push_back(static_cast<StopIndex>(s));
  }
  if (space.stops_.empty()) return fail("no stop that may be drawn reaches these keys");
  if (space.stops_.size() > most_stops) {
    return fail(fmt::format("{} stops reach these keys, more than the {} that can be weighed; forbid some",
                            space.stops_.size(), most_stops));
  }

  for (std::size_t l = 0; l < space.linkings_.size(); ++l) {
    Linking& linking = space.linkings_[l];
    for (std::size_t before = 0; before < l; ++before) {
      StopMask same = 0;
      for (std::size_t i = 0; i < space.stops_.size(); ++i) {
        const auto s = static_cast<std::size_t>(space.stops_[i]);
        if (sounds[l][s] == sounds[before][s]) same |= StopMask{1} << i;
      }
      linking.same_as.push_back(same);
    }
    for (std::size_t k = 0; k < chords.size(); ++k) {
      std::vector<PipeSet> by_stop;
      for (const StopIndex s : space.stops_) by_stop.push_back(sounds[l][static_cast<std::size_t>(s)][k]);
      linking.groups.push_back(groups_of(organ, by_stop));
    }
  }
  return space;
}

bool Space::canonical(std::size_t linking, StopMask stops) const {
  const Linking& here = linkings_[linking];
  // A stop that brings no pipe the others do not bring makes no new state.
  StopMask needed = 0;
  for (const std::vector<Group>& on_chord : here.groups) {
    for (const Group& g : on_chord) {
      const StopMask brought_by = g.stops & stops;
      if (std::has_single_bit(brought_by)) needed |= brought_by;
    }
  }
  if (needed != stops) return false;
  // Equal stop by stop is enough for an equal union, and nearly necessary; what is equal only as a whole (two stops of
  // one rank trading notes between linkings) is counted twice rather than compared pipe by pipe.
  return std::none_of(here.same_as.begin(), here.same_as.end(), [&](StopMask same) { return (stops & ~same) == 0; });
}

Registration Space::registration(std::size_t linking, StopMask stops, const Registration& boxes) const {
  Registration out = linkings_[linking].couplers;
  for (std::size_t i = 0; i < stops_.size(); ++i) {
    if ((stops >> i & 1) != 0) out.stops.set(static_cast<std::size_t>(stops_[i]));
  }
  out.box = boxes.box;
  return out;
}

Space::State Space::state(const Registration& drawn) const {
  State out{0, 0};
  for (std::size_t i = 0; i < stops_.size(); ++i) {
    if (drawn.stops.test(static_cast<std::size_t>(stops_[i]))) out.stops |= StopMask{1} << i;
  }
  Sounding sounding{*organ_};
  const auto notes = [&](const Registration& r) {
    std::vector<NoteSet> all;
    for (const KeysDown& down : chords_) {
      const auto& now = sounding.notes(r, down);
      all.insert(all.end(), now.begin(), now.end());
    }
    return all;
  };
  const std::vector<NoteSet> want = notes(drawn);
  for (std::size_t l = 0; l < linkings_.size(); ++l) {
    if (notes(linkings_[l].couplers) == want) {
      out.linking = l;
      break;
    }
  }
  return out;
}

double Space::raw_states() const {
  return static_cast<double>(linkings_.size()) * std::exp2(static_cast<double>(stops_.size()));
}

}  // namespace calcant
