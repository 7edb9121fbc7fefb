// What each manual can be drawn to, as it sounds: the voicings of practice (chorus.hpp) thinned to the few that differ by
// ear, and the quick scales every placing of hands and feet is listened to with.
#pragma once

#include <map>
#include <memory>
#include <utility>
#include <vector>

#include "engine/plan/chorus.hpp"
#include "engine/plan/quick_scales.hpp"

namespace calcant {

// Of states that sound alike (a cell of level and colour) the few with the least against them.
template <class T, class Cell>
void thin(std::vector<T>& list, std::size_t in_cell, const Cell& cell) {
  std::stable_sort(list.begin(), list.end(), [](const T& a, const T& b) { return a.against < b.against; });
  std::map<std::decay_t<decltype(cell(list.front()))>, std::size_t> kept;
  std::erase_if(list, [&](const T& t) { return ++kept[cell(t)] > in_cell; });
}
// The cell of level and colour a sound falls into; `width` in phon, colour in proportion (0.75 phon go with 0.12 acum).
[[nodiscard]] std::pair<int, int> cell_of(const QuickScales::Figures& heard, double width);

class Voices {
 public:
  // Stops and couplers in `forbidden` are never drawn. Organ, scales and `never` must outlive it. Not thread-safe.
  Voices(const Organ& organ, Scales& scales, const std::vector<Knob>& never, std::optional<KeyboardIndex> pedals,
         const Registration& forbidden);

  // Null where nothing sounds with hands and feet so placed.
  [[nodiscard]] QuickScales* heard(const HandsAndFeet& on);
  // At most so many voicings of a manual, those with the least against them of each sound.
  [[nodiscard]] const std::vector<Voicing>& of(KeyboardIndex manual, std::size_t most);

 private:
  const Organ& organ_;
  Scales& scales_;
  const std::vector<Knob>& never_;
  std::optional<KeyboardIndex> pedals_;
  Registration forbidden_;
  std::vector<std::pair<HandsAndFeet, std::unique_ptr<QuickScales>>> quick_;
  std::map<std::pair<KeyboardIndex, std::size_t>, std::vector<Voicing>> voices_;
};

}  // namespace calcant
