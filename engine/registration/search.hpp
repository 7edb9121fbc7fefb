// The search for good registrations where there are too many to weigh each: from many starts, one knob, one exchange of
// two stops, one other setting of couplers or boxes at a time, as long as it gets better.
//
// Figures are the screen's, as the map's are. How far it stays behind a whole map is measured on 200 organs
// (docs/accuracy/registration.md).
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "engine/registration/equals.hpp"
#include "engine/registration/map.hpp"

namespace calcant {

struct SearchState {
  Space::State state;
  std::size_t box = 0;  // of the positions given
  MapFigures figures;
  double points = 0;  // the fewer the better
};

// The fewer points the better; from `unfit` on a state is no answer, but still shows the way. What is no answer must stay
// over it however good it otherwise is.
using PointsOf = std::function<double(const Space::State&, std::size_t box, const MapFigures&)>;
inline constexpr double unfit = 1e3;

struct SearchSettings {
  int starts = 240;
  std::uint64_t seed = 1;
  std::size_t keep = 400;  // answers handed back, at most
  // Where knobs must or must not be drawn: which of equal states stands for all. Otherwise the canonical one.
  const Equals* equals = nullptr;
};

// A space, its patterns on every chord, and the positions of the boxes: prepared once, searched many times. space and
// listening must outlive it.
class Search {
 public:
  [[nodiscard]] static Result<Search> make(const Space& space, const Listening& listening,
                                           std::vector<BoxPositions> boxes);

  // States under `unfit` that stand for all equal to them, best first. The same on any number of threads. Refuses stopped work.
  [[nodiscard]] Result<std::vector<SearchState>> best(const PointsOf& points, const SearchSettings& settings,
                                                      const Work& work);
  [[nodiscard]] MapFigures figures(const Space::State& state, std::size_t box);
  [[nodiscard]] const std::vector<BoxPositions>& boxes() const { return boxes_; }

  ~Search();
  Search(Search&&) noexcept;
  Search& operator=(Search&&) noexcept;

 private:
  struct Bench;
  Search(const Space& space, std::vector<BoxPositions> boxes, std::unique_ptr<Bench> bench);
  const Space* space_;
  std::vector<BoxPositions> boxes_;
  std::unique_ptr<Bench> bench_;
};

}  // namespace calcant
