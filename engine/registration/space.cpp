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
constexpr std::size_t most_linkings = 1024;
constexpr std::size_t most_hanging_together = 16;

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

bool overlap(const PipeSet& a, const PipeSet& b) {
  for (std::size_t r = 0; r < a.ranks.size(); ++r) {
    if (!(a.ranks[r] & b.ranks[r]).empty()) return true;
  }
  return false;
}

void join(PipeSet& into, const PipeSet& more) {
  for (std::size_t r = 0; r < into.ranks.size(); ++r) into.ranks[r] |= more.ranks[r];
}

// A set of pipes on every chord, as it is compared.
Signature signature(const std::vector<PipeSet>& on_chords) {
  Signature out;
  for (const PipeSet& pipes : on_chords) {
    for (const NoteSet numbers : pipes.ranks) out.emplace_back(numbers.low_bits(), numbers.high_bits());
  }
  return out;
}

// Stops that overlap in any linking, and all that hang together by them.
std::vector<StopMask> hanging_together(const std::vector<std::vector<std::vector<PipeSet>>>& sounds, std::size_t stops,
                                       std::size_t chords) {
  std::vector<std::vector<PipeSet>> ever = sounds.front();  // by stop and chord, over all linkings
  for (std::size_t l = 1; l < sounds.size(); ++l) {
    for (std::size_t s = 0; s < stops; ++s) {
      for (std::size_t k = 0; k < chords; ++k) join(ever[s][k], sounds[l][s][k]);
    }
  }
  std::vector<StopMask> out;
  for (std::size_t s = 0; s < stops; ++s) {
    StopMask mine = StopMask{1} << s;
    const auto touches = [&](StopMask other) {
      for (std::size_t o = 0; o < s; ++o) {
        if ((other >> o & 1) == 0) continue;
        for (std::size_t k = 0; k < chords; ++k) {
          if (overlap(ever[s][k], ever[o][k])) return true;
        }
      }
      return false;
    };
    for (std::size_t c = 0; c < out.size();) {
      if (!touches(out[c])) {
        ++c;
        continue;
      }
      mine |= out[c];
      out.erase(out.begin() + static_cast<std::ptrdiff_t>(c));
    }
    out.push_back(mine);
  }
  return out;
}

std::vector<int> bits_of(StopMask mask) {
  std::vector<int> out;
  for (; mask != 0; mask &= mask - 1) out.push_back(std::countr_zero(mask));
  return out;
}

}  // namespace

std::uint32_t Space::Cluster::gather(StopMask stops_drawn) const {
  std::uint32_t out = 0;
  for (std::size_t i = 0; i < stops.size(); ++i) {
    out |= static_cast<std::uint32_t>(stops_drawn >> stops[i] & 1) << i;
  }
  return out;
}

Result<Space> Space::make(const Organ& organ, std::span<const KeysDown> chords, const Registration& forbidden) {
  Space space;
  space.organ_ = &organ;
  space.chords_.assign(chords.begin(), chords.end());
  const bool any_key = std::any_of(chords.begin(), chords.end(), [](const KeysDown& down) {
    return std::any_of(down.keys.begin(), down.keys.end(), [](NoteSet keys) { return !keys.empty(); });
  });
  if (!any_key) return fail("no key is held: give the keys the registration is to be heard on");
  if (const auto ok = space.find_linkings(forbidden); !ok) return tl::unexpected(ok.error());
  const auto sounds = space.find_stops(forbidden);
  if (!sounds) return tl::unexpected(sounds.error());
  if (const auto ok = space.find_equals(*sounds); !ok) return tl::unexpected(ok.error());
  return space;
}

// Coupler settings that bring the same notes to every division are one linking; the fewest knobs stand for it.
Result<void> Space::find_linkings(const Registration& forbidden) {
  couplers_ = couplers_in_reach(*organ_, chords_, forbidden);
  if (couplers_.size() > most_couplers) {
    return fail(fmt::format("{} couplers reach these keys, more than the {} that can be weighed; forbid some",
                            couplers_.size(), most_couplers));
  }
  Sounding sounding{*organ_};
  std::map<Signature, Linking> found;
  for (std::uint32_t bits = 0; bits < std::uint32_t{1} << couplers_.size(); ++bits) {
    Linking linking;
    linking.knobs = std::popcount(bits);
    for (std::size_t i = 0; i < couplers_.size(); ++i) {
      if ((bits >> i & 1) != 0) linking.couplers.couplers.set(static_cast<std::size_t>(couplers_[i]));
    }
    Signature notes;
    for (const KeysDown& down : chords_) {
      for (const NoteSet n : sounding.notes(linking.couplers, down)) notes.emplace_back(n.low_bits(), n.high_bits());
    }
    const auto [it, is_new] = found.try_emplace(std::move(notes), linking);
    if (!is_new && linking.knobs < it->second.knobs) it->second = std::move(linking);
    if (found.size() > most_linkings) {
      return fail(
          fmt::format("the couplers can stand in more than {} ways for these keys; forbid some", most_linkings));
    }
  }
  for (auto& [notes, linking] : found) linkings_.push_back(std::move(linking));
  std::stable_sort(linkings_.begin(), linkings_.end(), [](const Linking& a, const Linking& b) {
    return a.knobs != b.knobs ? a.knobs < b.knobs : a.couplers.couplers.to_ullong() < b.couplers.couplers.to_ullong();
  });
  return {};
}

// What every stop sounds by itself, for each linking and chord; and so which of them reach the keys, and the groups.
Result<Space::Sounds> Space::find_stops(const Registration& forbidden) {
  const std::size_t all = organ_->stops.size();
  Sounding sounding{*organ_};
  Sounds every(linkings_.size(), std::vector<std::vector<PipeSet>>(all, std::vector<PipeSet>(chords_.size())));
  std::vector<bool> reaches(all);
  for (std::size_t l = 0; l < linkings_.size(); ++l) {
    for (std::size_t s = 0; s < all; ++s) {
      Registration drawn = linkings_[l].couplers;
      drawn.stops.set(s);
      for (std::size_t k = 0; k < chords_.size(); ++k) {
        sounding.pipes(drawn, chords_[k], every[l][s][k]);
        if (every[l][s][k].size() > 0 && !forbidden.stops.test(s)) reaches[s] = true;
      }
    }
  }
  for (std::size_t s = 0; s < all; ++s) {
    if (reaches[s]) stops_.push_back(static_cast<StopIndex>(s));
  }
  if (stops_.empty()) return fail("no stop that may be drawn reaches these keys");
  if (stops_.size() > most_stops) {
    return fail(fmt::format("{} stops reach these keys, more than the {} that can be weighed; forbid some",
                            stops_.size(), most_stops));
  }
  Sounds out(linkings_.size());
  for (std::size_t l = 0; l < linkings_.size(); ++l) {
    for (const StopIndex s : stops_) out[l].push_back(std::move(every[l][static_cast<std::size_t>(s)]));
    for (std::size_t k = 0; k < chords_.size(); ++k) {
      std::vector<PipeSet> by_stop;
      for (const auto& on_chords : out[l]) by_stop.push_back(on_chords[k]);
      linkings_[l].groups.push_back(groups_of(*organ_, by_stop));
      for (const Group& g : linkings_[l].groups.back()) linkings_[l].sounding |= g.stops;
    }
  }
  return out;
}

Result<void> Space::find_equals(const Sounds& sounds) {
  for (const StopMask together : hanging_together(sounds, stops_.size(), chords_.size())) {
    if (std::has_single_bit(together)) {
      alone_ |= together;
      continue;
    }
    Cluster cluster;
    cluster.stops = bits_of(together);
    if (cluster.stops.size() > most_hanging_together) {
      return fail(
          fmt::format("{} stops are made of the same pipes, more than the {} that can be told apart; forbid some",
                      cluster.stops.size(), most_hanging_together));
    }
    std::map<Signature, std::uint32_t> numbers;
    const std::size_t sets = std::size_t{1} << cluster.stops.size();
    for (const auto& by_stop : sounds) {
      auto& makes = cluster.makes.emplace_back(sets);
      for (std::size_t m = 0; m < sets; ++m) {
        std::vector<PipeSet> pipes(chords_.size(), PipeSet{std::vector<NoteSet>(organ_->ranks.size())});
        for (std::size_t i = 0; i < cluster.stops.size(); ++i) {
          if ((m >> i & 1) == 0) continue;
          for (std::size_t k = 0; k < pipes.size(); ++k) {
            join(pipes[k], by_stop[static_cast<std::size_t>(cluster.stops[i])][k]);
          }
        }
        makes[m] = numbers.try_emplace(signature(pipes), static_cast<std::uint32_t>(numbers.size())).first->second;
      }
    }
    for (const auto& makes : cluster.makes) {
      auto& least = cluster.least.emplace_back(numbers.size(), Cluster::none);
      for (std::uint32_t m = 0; m < sets; ++m) {
        std::uint32_t& to = least[makes[m]];
        if (to == Cluster::none || std::popcount(m) < std::popcount(to)) to = m;
      }
    }
    clusters_.push_back(std::move(cluster));
  }
  same_.resize(linkings_.size());
  for (std::size_t l = 0; l < linkings_.size(); ++l) {
    for (std::size_t other = 0; other < linkings_.size(); ++other) {
      StopMask same = 0;
      for (const int s : bits_of(alone_)) {
        const auto at = static_cast<std::size_t>(s);
        if (sounds[l][at] == sounds[other][at]) same |= StopMask{1} << s;
      }
      same_[l].push_back(same);
    }
  }
  return {};
}

// Pipes of one cluster sound through its stops alone, so two states are equal when they are cluster by cluster.
bool Space::canonical(std::size_t linking, StopMask stops) const {
  const Linking& here = linkings_[linking];
  if ((stops & ~here.sounding) != 0) return false;
  if (stops == 0) return linking == 0;
  for (const Cluster& c : clusters_) {
    const std::uint32_t drawn = c.gather(stops);
    if (c.least[linking][c.makes[linking][drawn]] != drawn) return false;
  }
  const StopMask alone = stops & alone_;
  for (std::size_t l = 0; l < linkings_.size(); ++l) {
    if (l == linking || (alone & ~same_[linking][l]) != 0) continue;
    int more = linkings_[l].knobs - here.knobs;
    bool made = true;
    for (const Cluster& c : clusters_) {
      const std::uint32_t drawn = c.gather(stops);
      const std::uint32_t least = c.least[l][c.makes[linking][drawn]];
      made = least != Cluster::none;
      if (!made) break;
      more += std::popcount(least) - std::popcount(drawn);
    }
    if (made && (more < 0 || (more == 0 && l < linking))) return false;
  }
  return true;
}

Registration Space::registration(std::size_t linking, StopMask stops, const Registration& boxes) const {
  Registration out = linkings_[linking].couplers;
  for (std::size_t i = 0; i < stops_.size(); ++i) {
    if ((stops >> i & 1) != 0) out.stops.set(static_cast<std::size_t>(stops_[i]));
  }
  out.box = boxes.box;
  return out;
}

StopMask Space::mask(const std::bitset<max_stops>& drawn) const {
  StopMask out = 0;
  for (std::size_t i = 0; i < stops_.size(); ++i) {
    if (drawn.test(static_cast<std::size_t>(stops_[i]))) out |= StopMask{1} << i;
  }
  return out;
}

StopMask Space::differing(std::size_t linking, std::size_t other) const {
  StopMask out = alone_ & ~same_[linking][other];
  for (const Cluster& c : clusters_) {
    for (std::size_t i = 0; i < c.stops.size(); ++i) {
      const std::size_t alone = std::size_t{1} << i;
      if (c.makes[linking][alone] != c.makes[other][alone]) out |= StopMask{1} << c.stops[i];
    }
  }
  return out;
}

Result<Space::State> Space::state(const Registration& drawn) const {
  Sounding sounding{*organ_};
  PipeSet pipes;
  for (std::size_t s = 0; s < organ_->stops.size(); ++s) {
    if (!drawn.stops.test(s) || std::find(stops_.begin(), stops_.end(), static_cast<StopIndex>(s)) != stops_.end()) {
      continue;
    }
    Registration one = drawn;
    one.stops.reset();
    one.stops.set(s);
    for (const KeysDown& down : chords_) {
      sounding.pipes(one, down, pipes);
      if (pipes.size() > 0) {
        return fail(fmt::format("{} is drawn, which is not among the stops that may be", full_name(organ_->stops[s])));
      }
    }
  }
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
    if (notes(linkings_[l].couplers) == want) return State{l, mask(drawn.stops)};
  }
  return fail("a coupler is drawn that is not among those that may be");
}

double Space::raw_states() const {
  return static_cast<double>(linkings_.size()) * std::exp2(static_cast<double>(stops_.size()));
}

}  // namespace calcant
