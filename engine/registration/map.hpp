// The registration map: every registration of one organ for a set of chords, with how loud and how bright it is.
//
// Built by the additive screen (hearing/screen.hpp): right to 2 % in loudness, and meant for finding; what is shown to
// people is weighed again in full. A state is a linking of couplers, a position of the boxes and a set of stops (space.hpp);
// equal sets of pipes are
// kept once wherever Space::canonical sees that they are equal (not two stops with the very same pipes at these keys). 8 bytes a state: 16 stops with eight couplers stay under 300 MB.
#pragma once

#include <array>
#include <cstdint>
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
};

class Map {
 public:
  // Refuses what has more than 2^26 states (a search answers then); a stop of work. space and listening must be of one
  // organ and outlive the map.
  [[nodiscard]] static Result<Map> make(const Space& space, const Listening& listening,
                                        std::span<const BoxPositions> boxes, const Work& work);

  // States kept.
  [[nodiscard]] std::size_t size() const { return kept_; }
  [[nodiscard]] const Space& space() const { return *space_; }

  // Calls visit(MapState) for every state, in a fixed order.
  template <class Visit>
  void for_each(Visit&& visit) const {
    for (const Block& b : blocks_) {
      for (std::size_t m = 0; m < b.figures.size(); ++m) {
        if (b.figures[m].phons < 0) continue;
        visit(MapState{b.linking, spread(b, m), b.box, b.figures[m]});
      }
    }
  }

 private:
  // All sets of the stops that sound in one linking, with the boxes at one position.
  struct Block {
    std::size_t linking = 0;
    BoxPositions box{};
    std::size_t first_half = 0;       // of `stops`: those summed together first
    std::vector<int> stops;           // which of Space::stops the bits of an index stand for
    std::vector<MapFigures> figures;  // by index; phons < 0: the same as another state
  };
  [[nodiscard]] static StopMask spread(const Block& b, std::size_t index) {
    StopMask out = 0;
    for (std::size_t i = 0; i < b.stops.size(); ++i) out |= static_cast<StopMask>(index >> i & 1) << b.stops[i];
    return out;
  }
  const Space* space_ = nullptr;
  std::vector<Block> blocks_;
  std::size_t kept_ = 0;
};

// The patterns of the groups of a space on one chord, made when first asked for: what the map and the searches add up.
class Patterns {
 public:
  // Refuses what Screen::make refuses.
  [[nodiscard]] static Result<Patterns> make(const Space& space, const Listening& listening, std::size_t chord);

  [[nodiscard]] const Screen& screen() const { return screen_; }
  // Of every group of the linking, its box as in `box`.
  [[nodiscard]] Result<std::vector<Pattern>> groups(std::size_t linking, const BoxPositions& box) const;

 private:
  Patterns(const Space& space, const Listening& listening, std::size_t chord, Screen screen)
      : space_(&space), listening_(&listening), chord_(chord), screen_(std::move(screen)) {}
  const Space* space_;
  const Listening* listening_;
  std::size_t chord_;
  Screen screen_;
};

}  // namespace calcant
