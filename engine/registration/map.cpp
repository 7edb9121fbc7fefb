#include "engine/registration/map.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <thread>

namespace calcant {
namespace {

constexpr double most_states = 1 << 25;
constexpr std::size_t rows_a_time = 16;  // of the first half's sums, weighed by one thread before the next are taken
constexpr double condense_cents = 5.0;   // under 0.1 % of loudness

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

// sums[m]: of what the groups that sound with set m of these stops drawn have, stops[i] being bit i of m.
template <class Value, class OfGroup>
std::vector<Value> sums(const std::vector<int>& stops, const std::vector<Group>& groups, const OfGroup& of_group) {
  StopMask mine = 0;
  for (const int s : stops) mine |= StopMask{1} << s;
  std::vector<Value> out(std::size_t{1} << stops.size());
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
      if ((groups[g].stops & mine & now) != 0 && (groups[g].stops & before) == 0) out[m] += of_group(g);
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

PipeSet pipe_set(const Organ& organ, const Group& group) {
  PipeSet out;
  out.ranks.resize(organ.ranks.size());
  for (const PipeId p : group.pipes) out.ranks[static_cast<std::size_t>(p.rank)].insert(p.number);
  return out;
}

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

Result<std::vector<const Pattern*>> Patterns::groups(std::size_t linking, const BoxPositions& box) {
  std::vector<const Pattern*> out;
  Registration boxes;
  boxes.box = box;
  for (const Group& g : space_->linkings()[linking].groups[chord_]) {
    const float opening = g.box ? box[static_cast<std::size_t>(*g.box)] : 1.0F;
    const auto [it, is_new] = made_.try_emplace({g.pipes, opening});
    if (is_new) {
      auto pattern =
          screen_.pattern(condensed(listening_->lines(pipe_set(space_->organ(), g), boxes), Cents{condense_cents}));
      if (!pattern) return tl::unexpected(pattern.error());
      it->second = *pattern;
    }
    out.push_back(&it->second);
  }
  return out;
}

// Blocks in the order of linkings, then positions; wind, pipes and boxes of every half set.
Result<void> Map::lay_out(const Listening& listening, std::span<const BoxPositions> boxes) {
  const Space& space = *space_;
  double states = 0;
  for (std::size_t l = 0; l < space.linkings().size(); ++l) {
    const Linking& linking = space.linkings()[l];
    Layout layout;
    layout.linking = l;
    std::vector<int> sounding;
    for (std::size_t s = 0; s < space.stops().size(); ++s) {
      if ((linking.sounding >> s & 1) != 0) sounding.push_back(static_cast<int>(s));
    }
    layout.stops = halves(sounding, linking.groups);
    const std::size_t positions = any_in_box(linking) ? boxes.size() : std::min<std::size_t>(boxes.size(), 1);
    states += static_cast<double>(positions) * std::exp2(static_cast<double>(sounding.size()));
    if (states > most_states) {
      return fail(
          fmt::format("{} stops reach these keys: more registrations than a map can hold; forbid some stops or "
                      "search instead",
                      space.stops().size()));
    }
    const double chords = static_cast<double>(linking.groups.size());
    for (std::size_t half = 0; half < 2; ++half) {
      const std::vector<int>& stops = layout.stops[half];
      const std::size_t sets = std::size_t{1} << stops.size();
      for (std::size_t m = 0; m < sets; ++m) {
        StopMask mask = 0;
        for (std::size_t i = 0; i < stops.size(); ++i) mask |= static_cast<StopMask>(m >> i & 1) << stops[i];
        layout.masks[half].push_back(mask);
        std::uint8_t in = 0;
        for (const std::vector<Group>& on_chord : linking.groups) {
          for (const Group& g : on_chord) {
            if (g.box && (g.stops & mask) != 0) in |= static_cast<std::uint8_t>(1U << *g.box);
          }
        }
        layout.boxed[half].push_back(in);
      }
      layout.wind[half].assign(sets, 0);
      layout.pipes[half].assign(sets, 0);
      for (const std::vector<Group>& on_chord : linking.groups) {
        std::vector<float> wind;
        std::vector<float> pipes;
        for (const Group& g : on_chord) {
          wind.push_back(static_cast<float>(listening.wind(pipe_set(space.organ(), g)).value() / chords));
          pipes.push_back(static_cast<float>(static_cast<double>(g.pipes.size()) / chords));
        }
        const auto wind_sums = sums<float>(stops, on_chord, [&](std::size_t g) { return wind[g]; });
        const auto pipe_sums = sums<float>(stops, on_chord, [&](std::size_t g) { return pipes[g]; });
        for (std::size_t m = 0; m < sets; ++m) {
          layout.wind[half][m] += wind_sums[m];
          layout.pipes[half][m] += pipe_sums[m];
        }
      }
    }
    for (std::size_t p = 0; p < positions; ++p) {
      Block block;
      block.layout = layouts_.size();
      block.box = boxes[p];
      for (std::size_t used = 0; used < block.first.size(); ++used) {
        const auto alike = [&](const BoxPositions& before) {
          for (std::size_t b = 0; b < max_boxes; ++b) {
            if ((used >> b & 1) != 0 && before[b] != boxes[p][b]) return false;
          }
          return true;
        };
        block.first[used] = std::none_of(boxes.begin(), boxes.begin() + static_cast<std::ptrdiff_t>(p), alike);
      }
      blocks_.push_back(std::move(block));
    }
    layouts_.push_back(std::move(layout));
  }
  return {};
}

bool Map::keeps(const Block& block, std::size_t j, std::size_t i) const {
  const Layout& layout = layouts_[block.layout];
  return i + j > 0 && block.first[layout.boxed[0][i] | layout.boxed[1][j]] &&
         space_->canonical(layout.linking, layout.masks[0][i] | layout.masks[1][j]);
}

Result<Map> Map::make(const Space& space, const Listening& listening, std::span<const BoxPositions> boxes,
                      const Work& work) {
  if (boxes.empty()) return fail("no position of the swell boxes is given");
  Map map;
  map.space_ = &space;
  const std::size_t chords = space.chords().size();
  std::vector<Patterns> patterns;
  for (std::size_t c = 0; c < chords; ++c) {
    auto p = Patterns::make(space, listening, c);
    if (!p) return tl::unexpected(p.error());
    patterns.push_back(std::move(*p));
  }
  if (const auto ok = map.lay_out(listening, boxes); !ok) return tl::unexpected(ok.error());

  struct Halves {
    std::vector<Pattern> low;
    std::vector<Pattern> high;
  };
  for (std::size_t b = 0; b < map.blocks_.size(); ++b) {
    Block& block = map.blocks_[b];
    const Layout& layout = map.layouts_[block.layout];
    std::vector<Halves> on_chord;
    for (std::size_t c = 0; c < chords; ++c) {
      const auto groups = patterns[c].groups(layout.linking, block.box);
      if (!groups) return tl::unexpected(groups.error());
      const auto& of = space.linkings()[layout.linking].groups[c];
      const auto pattern = [&](std::size_t g) -> const Pattern& { return *(*groups)[g]; };
      on_chord.push_back({sums<Pattern>(layout.stops[0], of, pattern), sums<Pattern>(layout.stops[1], of, pattern)});
    }
    const std::size_t low = layout.masks[0].size();
    const std::size_t high = layout.masks[1].size();
    block.figures.assign(low * high, MapFigures{-1, 0});
    std::atomic<std::size_t> taken{0};
    std::atomic<std::size_t> kept{0};
    const auto weigh_rows = [&] {
      for (std::size_t row = taken.fetch_add(rows_a_time); row < high; row = taken.fetch_add(rows_a_time)) {
        if (work.stop.stop_requested()) return;
        for (std::size_t j = row; j < std::min(row + rows_a_time, high); ++j) {
          for (std::size_t i = 0; i < low; ++i) {
            if (!map.keeps(block, j, i)) continue;
            MapFigures& f = block.figures[j * low + i];
            f.phons = 0;
            ++kept;
            for (std::size_t c = 0; c < chords; ++c) {
              const Screened s = patterns[c].screen().screen(on_chord[c].high[j], on_chord[c].low[i]);
              f.phons += s.phons / static_cast<float>(chords);
              f.acums += s.acums / static_cast<float>(chords);
            }
          }
        }
      }
    };
    {
      std::vector<std::jthread> helpers;
      const auto wanted =
          std::min<std::size_t>(static_cast<std::size_t>(std::max(work.threads, 1)), high / rows_a_time + 1);
      for (std::size_t t = 1; t < wanted; ++t) helpers.emplace_back(weigh_rows);
      weigh_rows();
    }
    map.kept_ += kept;
    if (work.stop.stop_requested()) return fail("stopped before every registration was weighed");
    work.tell(static_cast<double>(b + 1) / static_cast<double>(map.blocks_.size()), "weighing registrations");
  }
  return map;
}

}  // namespace calcant
