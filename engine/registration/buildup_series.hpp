// The cheapest series of registrations from one level to another, each drawn by adding to the one before: exact for the
// objective of docs/design/choosing.md, by dynamic programming over all that may be drawn. Used inside the part only.
#pragma once

#include <cstdint>
#include <limits>
#include <vector>

#include "engine/registration/buildup.hpp"

namespace calcant {

class BuildUpSeries {
 public:
  static constexpr double end_near = 1.0;  // phon from the levels asked for

  // The chooser must have a map, and outlive it.
  BuildUpSeries(Chooser& chooser, const BuildUpFrame& frame, const BuildUpWish& wish);

  // Whether anything may be drawn at all.
  [[nodiscard]] bool possible() const { return !allowed_.empty(); }
  // Where it begins and ends: as asked, or at the nearest level there is.
  [[nodiscard]] Phons from() const { return from_; }
  [[nodiscard]] Phons to() const { return to_; }
  // Of all that may be drawn, phon.
  [[nodiscard]] double softest() const { return softest_; }
  [[nodiscard]] double loudest() const { return loudest_; }

  // As many registrations as asked, each step at least so many phon by the screen; nothing where there are none.
  [[nodiscard]] std::vector<Registration> cheapest(int steps, double least, const Work& work) const;

 private:
  // A set of knobs: stops of the frame, then the couplers that may be drawn. With the boxes' position it is a state.
  using Bits = std::uint32_t;
  static constexpr double nowhere = std::numeric_limits<double>::infinity();
  struct Coupled {
    Bits bit = 0;
    Bits stops = 0;  // those it brings
  };
  struct BoxMove {
    double cost = 0;
    std::uint8_t closed = 0;  // boxes
    bool moved = false;
  };
  struct Reached {
    double cost = nowhere;
    std::uint32_t from = 0;  // state in the layer before
  };
  using Layer = std::vector<Reached>;  // by allowed set and position
  struct Stage {
    double level = 0;  // phon
    double off = 0;    // how far from it
    double even = 0;   // step, phon
    double least = 0;
    bool last = false;
  };

  void find_bits(const BuildUpFrame& frame, const BuildUpWish& wish);
  void find_boxes();
  void find_foundations();
  void find_levels();
  void find_ends(const BuildUpWish& wish);
  [[nodiscard]] bool founded(Bits set) const;
  [[nodiscard]] int early(Bits set) const;
  // Whether the boxes in which something of the set speaks stand so.
  [[nodiscard]] bool stand(Bits set, std::size_t p, const BoxPositions& so) const;
  [[nodiscard]] bool may_end(Bits set, std::size_t p) const;
  [[nodiscard]] const Stop& stop(std::size_t bit) const;
  [[nodiscard]] double level(Bits set, std::size_t p) const { return level_[set * positions_.size() + p]; }
  [[nodiscard]] std::size_t linking(Bits set) const { return linkings_[set >> stops_.size()]; }
  [[nodiscard]] StopMask mask(Bits set) const;
  [[nodiscard]] Registration registration(Bits set, std::size_t p) const;
  [[nodiscard]] BoxMove box_move(std::uint8_t speaking, std::size_t p, std::size_t q) const;
  [[nodiscard]] double drawing_cost(Bits added) const;
  [[nodiscard]] std::uint8_t may_close(Bits added) const;
  [[nodiscard]] Layer first() const;
  [[nodiscard]] Layer next(const Layer& before, const Stage& stage) const;

  Chooser& chooser_;
  const Space& space_;
  std::vector<int> stops_;              // of the space, by bit
  std::vector<CouplerIndex> couplers_;  // by bit, after the stops
  Registration always_;                 // couplers that must be drawn
  std::vector<std::size_t> linkings_;   // by bits of the couplers
  std::vector<Coupled> coupled_;        // by coupler
  Bits must_ = 0;
  Bits full_ = 0;                         // the last must have these, its boxes open
  std::vector<std::vector<Bits>> over_;   // by stop: of each of these sets one must be drawn
  std::vector<std::vector<Bits>> early_;  // by stop: too early while none of one of these sets is drawn
  std::vector<BoxIndex> boxes_;           // with something in them that is heard here
  std::vector<BoxPositions> positions_;   // that differ for what is heard here
  std::vector<std::uint8_t> big_;         // by stop: boxes that may close for it
  std::vector<std::uint8_t> used_;        // by set: boxes in which something speaks
  std::vector<float> level_;              // by set and position; below nothing where it may not be drawn
  std::vector<double> against_;           // by set: what practice has against it
  std::vector<Bits> allowed_;             // sets that may be drawn
  double softest_ = nowhere;
  double loudest_ = -nowhere;
  Phons from_;
  Phons to_;
};

}  // namespace calcant
