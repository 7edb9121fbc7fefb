// Sources of sound that are heard again and again in ever other company, as the pipes of one organ are: their lines are
// taken through the outer and middle ear, and put in order, once; and so is what each does whatever else sounds, which is
// then only added up.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "engine/hearing/loudness.hpp"

namespace calcant {

namespace hearing {
struct Arrival;
struct Alone;
}  // namespace hearing

// 32 bytes a line and 3 kB a source. Reading is safe from any number of threads while nothing is added.
class KnownSources {
 public:
  // The ear's grid must be the coarse one.
  explicit KnownSources(Ear ear);
  ~KnownSources();
  KnownSources(KnownSources&&) noexcept;
  KnownSources& operator=(KnownSources&&) noexcept;

  // Numbered on from the last: the first is source 0. Refuses what check_lines refuses, and more than 2^32 lines in all.
  [[nodiscard]] Result<void> add(std::span<const Lines> sources);
  [[nodiscard]] std::size_t size() const { return places_.size(); }

  // These together, each named once: what Ear::hear makes of all their lines, its loudness and brightness to 2e-5, any
  // filter's excitation to 1e-3. None: silence. `left_out` is not counted. The last digits go with the order they are named in.
  [[nodiscard]] Heard hear(std::span<const std::uint32_t> sounding) const;

  [[nodiscard]] const Ear& ear() const { return ear_; }

 private:
  Ear ear_;
  std::vector<hearing::Alone> own_;                 // by source: what it does whatever else sounds
  std::vector<hearing::Arrival> lines_;             // of all sources, by frequency; `line` is the source
  std::vector<float> level_places_;                 // of each of them
  std::vector<std::vector<std::uint32_t>> places_;  // by source: where its lines stand among those
};

}  // namespace calcant
