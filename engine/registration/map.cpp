#include "engine/registration/map.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <thread>

namespace calcant {
namespace {

constexpr double most_states = 1 << 26;
constexpr std::size_t rows_a_time = 16;  // of the first half's sums, weighed by one thread before the next are taken
constexpr double condense_cents = 5.0;   // under 0.1 % of loudness

PipeSet pipes_of(const Organ& organ, const Group& group) {
  PipeSet out;
  out.ranks.resize(organ.ranks.size());
  for (const PipeId p : group.pipes) out.ranks[static_cast<std::size_t>(p.rank)].insert(p.number);
  return out;
}

// Stops that share a group must be summed together; stops that share none may be summed apart. Two halves, each a list of
// stops, no group across them, as even as can be.
std::array<std::vector<int>, 2> halves(const std::vector<int>& stops, const std::vector<std::vector<Group>>& groups) {
  std::vector<StopMask> clusters;
  for (const int s : stops) clusters.push_back(StopMask{1} << s);
  for (const std::vector<Group>& on_chord : groups) {
    for (const Group& g : on_chord) {
      StopMask joined = 0;
      for (const StopMask c : clusters) joined |= (c & g.stops) != 0 ? c : 0;
      std::erase_if(clusters, [&](StopMask c) { return (c & g.stops) != 0; });
      if (joined != 0) clusters.push_back(joined);
    }
  }
  std::sort(clusters.begin(), clusters.end(), [](StopMask a, StopMask b) {
    const int more = std::popcount(a) - std::popcount(b);
    return more != 0 ? more > 0 : a < b;
  });
  std::array<std::vector<int>, 2> out;
  for (const StopMask c : clusters) {
    std::vector<int>& to = out[0].size() <= out[1].size() ? out[0] : out[1];
    for (const int s : stops) {
      if ((c >> s & 1) != 0) to.push_back(s);
    }
  }
  return out;
}

// sums[m]: the groups that sound with the stops of index m drawn, stops[i] being bit i of it.
std::vector<Pattern> sums(const std::vector<int>& stops, const std::vector<Group>& groups,
                          const std::vector<Pattern>& patterns) {
  StopMask mine = 0;
  for (const int s : stops) mine |= StopMask{1} << s;
  std::vector<Pattern> out(std::size_t{1} << stops.size());
  for (std::size_t m = 1; m < out.size(); ++m) {
    // What the highest bit adds to the set without it: the groups no stop before it has brought.
    const int high = static_cast<int>(std::bit_width(m)) - 1;
    const std::size_t rest = m & ~(std::size_t{1} << high);
    StopMask before = 0;
    for (std::size_t i = 0; i < static_cast<std::size_t>(high); ++i) {
      if ((rest >> i & 1) != 0) before |= StopMask{1} << stops[i];
    }
    const StopMask now = StopMask{1} << stops[static_cast<std::size_t>(high)];
    out[m] = out[rest];
    for (std::size_t g = 0; g < groups.size(); ++g) {
      if ((groups[g].stops & mine & now) != 0 && (groups[g].stops & before) == 0) out[m] += patterns[g];
    }
  }
  return out;
}

bool any_in_box(const Linking& linking) {
  for (const std::vector<Group>& on_chord : linking.groups) {
    for (const Group& g : on_chord) {
      if (g.box) return true;
    }
  }
  return false;
}

}  // namespace

std::vector<BoxPositions> box_positions(const Organ& organ) {
  std::vector<BoxPositions> out;
  const std::size_t boxes = organ.boxes.size();
  if (boxes == 0) return {BoxPositions{}};
  const auto rests = [&](std::size_t b) {
    const SwellBox& box = organ.boxes[b];
    if (box.pedal == SwellPedal::balanced || box.hitches.empty()) return std::vector<double>{0, 0.25, 0.5, 0.75, 1};
    return box.hitches;
  };
  const auto add = [&out](const BoxPositions& p) {
    if (std::find(out.begin(), out.end(), p) == out.end()) out.push_back(p);
  };
  BoxPositions shut{};
  BoxPositions open{};
  for (std::size_t b = 0; b < boxes; ++b) open[b] = 1;
  add(shut);
  for (std::size_t b = 0; b < boxes; ++b) {
    for (const BoxPositions& others : {shut, open}) {
      for (const double opening : rests(b)) {
        BoxPositions p = others;
        p[b] = static_cast<float>(opening);
        add(p);
      }
    }
  }
  add(open);
  return out;
}

Result<Patterns> Patterns::make(const Space& space, const Listening& listening, std::size_t chord) {
  // Everything that could sound together: all couplers and stops, boxes open.
  PipeSet all;
  all.ranks.resize(space.organ().ranks.size());
  for (const Linking& l : space.linkings()) {
    for (const Group& g : l.groups[chord]) {
      for (const PipeId p : g.pipes) all.ranks[static_cast<std::size_t>(p.rank)].insert(p.number);
    }
  }
  Registration open;
  open.box.fill(1);
  auto screen = Screen::make(Ear{}, condensed(listening.lines(all, open), Cents{condense_cents}));
  if (!screen) return tl::unexpected(screen.error());
  return Patterns{space, listening, chord, std::move(*screen)};
}

Result<std::vector<Pattern>> Patterns::groups(std::size_t linking, const BoxPositions& box) const {
  std::vector<Pattern> out;
  Registration boxes;
  boxes.box = box;
  for (const Group& g : space_->linkings()[linking].groups[chord_]) {
    auto pattern =
        screen_.pattern(condensed(listening_->lines(pipes_of(space_->organ(), g), boxes), Cents{condense_cents}));
    if (!pattern) return tl::unexpected(pattern.error());
    out.push_back(*pattern);
  }
  return out;
}

Result<Map> Map::make(const Space& space, const Listening& listening, std::span<const BoxPositions> boxes,
                      const Work& work) {
  Map map;
  map.space_ = &space;
  const std::size_t chords = space.chords().size();
  std::vector<Patterns> patterns;
  for (std::size_t c = 0; c < chords; ++c) {
    auto p = Patterns::make(space, listening, c);
    if (!p) return tl::unexpected(p.error());
    patterns.push_back(std::move(*p));
  }

  double states = 0;
  for (std::size_t l = 0; l < space.linkings().size(); ++l) {
    const Linking& linking = space.linkings()[l];
    StopMask sounding = 0;
    for (const std::vector<Group>& on_chord : linking.groups) {
      for (const Group& g : on_chord) sounding |= g.stops;
    }
    Block block;
    block.linking = l;
    for (std::size_t s = 0; s < space.stops().size(); ++s) {
      if ((sounding >> s & 1) != 0) block.stops.push_back(static_cast<int>(s));
    }
    // Bits in the order of the two halves, so that an index is (second half, first half).
    const auto split = halves(block.stops, linking.groups);
    block.stops = split[0];
    block.first_half = split[0].size();
    block.stops.insert(block.stops.end(), split[1].begin(), split[1].end());
    const std::size_t positions = any_in_box(linking) ? boxes.size() : std::min<std::size_t>(boxes.size(), 1);
    states += static_cast<double>(positions) * std::exp2(static_cast<double>(block.stops.size()));
    if (states > most_states) {
      return fail(
          fmt::format("{} stops reach these keys: more registrations than a map can hold; forbid some stops or "
                      "search instead",
                      space.stops().size()));
    }
    for (std::size_t p = 0; p < positions; ++p) {
      block.box = boxes[p];
      map.blocks_.push_back(block);
    }
  }

  const auto share = [&](std::size_t done) {
    return static_cast<double>(done) / static_cast<double>(map.blocks_.size());
  };
  for (std::size_t b = 0; b < map.blocks_.size(); ++b) {
    Block& block = map.blocks_[b];
    const Linking& linking = space.linkings()[block.linking];
    const auto middle = block.stops.begin() + static_cast<std::ptrdiff_t>(block.first_half);
    const std::array<std::vector<int>, 2> split{std::vector<int>{block.stops.begin(), middle},
                                                std::vector<int>{middle, block.stops.end()}};
    const std::size_t first = std::size_t{1} << split[0].size();
    const std::size_t second = std::size_t{1} << split[1].size();
    block.figures.assign(first * second, MapFigures{});
    for (std::size_t c = 0; c < chords; ++c) {
      const auto groups = patterns[c].groups(block.linking, block.box);
      if (!groups) return tl::unexpected(groups.error());
      const std::vector<Pattern> low = sums(split[0], linking.groups[c], *groups);
      const std::vector<Pattern> high = sums(split[1], linking.groups[c], *groups);
      std::atomic<std::size_t> taken{0};
      const auto weigh_rows = [&] {
        std::vector<Screened> out(rows_a_time * low.size());
        for (std::size_t row = taken.fetch_add(rows_a_time); row < second; row = taken.fetch_add(rows_a_time)) {
          if (work.stop.stop_requested()) return;
          const std::size_t rows = std::min(rows_a_time, second - row);
          patterns[c].screen().screen_pairs(std::span{high}.subspan(row, rows), low,
                                            std::span{out}.first(rows * low.size()));
          for (std::size_t i = 0; i < rows * low.size(); ++i) {
            MapFigures& f = block.figures[row * low.size() + i];
            f.phons += out[i].phons / static_cast<float>(chords);
            f.acums += out[i].acums / static_cast<float>(chords);
          }
        }
      };
      {
        std::vector<std::jthread> helpers;
        const auto wanted =
            std::min<std::size_t>(static_cast<std::size_t>(std::max(work.threads, 1)), second / rows_a_time + 1);
        for (std::size_t t = 1; t < wanted; ++t) helpers.emplace_back(weigh_rows);
        weigh_rows();
      }
      if (work.stop.stop_requested()) return fail("stopped before every registration was weighed");
    }
    StopMask boxed = 0;
    for (const std::vector<Group>& on_chord : linking.groups) {
      for (const Group& g : on_chord) boxed |= g.box ? g.stops : 0;
    }
    for (std::size_t m = 0; m < block.figures.size(); ++m) {
      const StopMask stops = spread(block, m);
      // With no pipe in a box, where it stands makes no other state.
      const bool repeats_box = block.box != boxes.front() && (stops & boxed) == 0;
      if (m == 0 || repeats_box || !space.canonical(block.linking, stops)) block.figures[m].phons = -1;
      else ++map.kept_;
    }
    work.tell(share(b + 1), "weighing registrations");
  }
  return map;
}

}  // namespace calcant
