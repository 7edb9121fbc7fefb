// The registration map: every registration of one organ for a set of chords, with how loud and how bright it is, what
// wind it takes and how many pipes it has.
//
// Built by the additive screen (hearing/screen.hpp): right to 2 % in loudness, and meant for finding; what is shown to
// people is weighed again in full. A state is a linking of couplers, a position of the boxes and a set of stops
// (space.hpp); states with equal pipes, the boxes that matter alike, are kept once. 8 bytes a state before equal ones
// are left out: 16 stops with eight couplers in 128 MB, and never more than 256.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <vector>

#include "engine/hearing/screen.hpp"
#include "engine/listening/listening.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/work.hpp"
#include "engine/registration/space.hpp"

namespace calcant {

using BoxPositions = std::array<float, max_boxes>;

// Where the boxes can stand and stay: a lever at its hitches, a balanced pedal at quarters; one box moved at a time where
// there are several (all shut, all open, and each alone).
[[nodiscard]] std::vector<BoxPositions> box_positions(const Organ& organ);

// The mean over the chords.
struct MapFigures {
  float phons = 0;
  float acums = 0;
};

struct MapState {
  std::size_t linking = 0;
  StopMask stops = 0;
  BoxPositions box{};
  MapFigures figures;
  float wind = 0;   // litres per second, the mean over the chords
  float pipes = 0;  // the mean over the chords
};

class Map {
 public:
  // boxes: positions to weigh, at least one. Refuses what has more than 2^25 states before equal ones are left out (a
  // search answers then); a stop of work. space and listening must be of one organ and outlive the map. The same on any
  // number of threads.
  [[nodiscard]] static Result<Map> make(const Space& space, const Listening& listening,
                                        std::span<const BoxPositions> boxes, const Work& work);

  // States kept.
  [[nodiscard]] std::size_t size() const { return kept_; }
  [[nodiscard]] const Space& space() const { return *space_; }

  // Calls visit(MapState) for every state, in a fixed order.
  template <class Visit>
  void for_each(Visit&& visit) const {
    for (std::size_t b = 0; b < blocks_.size(); ++b) for_block(b, visit);
  }
  // The same in parts, for threads: states of block b < blocks().
  [[nodiscard]] std::size_t blocks() const { return blocks_.size(); }
  template <class Visit>
  void for_block(std::size_t block, Visit&& visit) const {
    const Block& b = blocks_[block];
    const Layout& layout = layouts_[b.layout];
    const std::size_t low = layout.wind[0].size();
    for (std::size_t m = 0; m < b.figures.size(); ++m) {
      if (b.figures[m].phons < 0) continue;
      const std::size_t i = m % low;
      const std::size_t j = m / low;
      visit(MapState{layout.linking, layout.masks[0][i] | layout.masks[1][j], b.box, b.figures[m],
                     layout.wind[0][i] + layout.wind[1][j], layout.pipes[0][i] + layout.pipes[1][j]});
    }
  }

 private:
  // The sets of stops of one linking, made of two halves that share no pipe: set (j, i) is index j x first + i.
  struct Layout {
    std::size_t linking = 0;
    std::array<std::vector<int>, 2> stops;           // of Space::stops
    std::array<std::vector<StopMask>, 2> masks;      // by set of a half
    std::array<std::vector<float>, 2> wind;          // likewise
    std::array<std::vector<float>, 2> pipes;         // likewise
    std::array<std::vector<std::uint8_t>, 2> boxed;  // likewise: bit b: has a pipe in box b
  };
  struct Block {
    std::size_t layout = 0;
    BoxPositions box{};
    std::array<bool, std::size_t{1} << max_boxes> first{};  // by boxes used: no earlier block has them as this one has
    std::vector<MapFigures> figures;                        // by set; phons < 0: the same as another state
  };
  [[nodiscard]] Result<void> lay_out(const Listening& listening, std::span<const BoxPositions> boxes);
  // Whether set (j, i) of a block stands for all states equal to it.
  [[nodiscard]] bool keeps(const Block& block, std::size_t j, std::size_t i) const;
  const Space* space_ = nullptr;
  std::vector<Layout> layouts_;
  std::vector<Block> blocks_;
  std::size_t kept_ = 0;
};

// The patterns of the groups of a space on one chord, made when first asked for and then kept: what the map and the
// search add up. Not thread-safe.
class Patterns {
 public:
  // Refuses what Screen::make refuses.
  [[nodiscard]] static Result<Patterns> make(const Space& space, const Listening& listening, std::size_t chord);

  [[nodiscard]] const Screen& screen() const { return screen_; }
  // Of every group of the linking, its box as in `box`; they live as long as this.
  [[nodiscard]] Result<std::vector<const Pattern*>> groups(std::size_t linking, const BoxPositions& box);

 private:
  Patterns(const Space& space, const Listening& listening, std::size_t chord, Screen screen)
      : space_(&space), listening_(&listening), chord_(chord), screen_(std::move(screen)) {}
  const Space* space_;
  const Listening* listening_;
  std::size_t chord_;
  Screen screen_;
  std::map<std::pair<std::vector<PipeId>, float>, Pattern> made_;  // by pipes and the opening of their box
};

// The pipes of a group as the rest of the engine takes them.
[[nodiscard]] PipeSet pipe_set(const Organ& organ, const Group& group);

}  // namespace calcant
