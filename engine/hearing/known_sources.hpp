// Sources of sound that are heard again and again in ever other company, as the pipes of one organ are: their lines are
// taken through the outer and middle ear, and put in order, once.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "engine/hearing/loudness.hpp"

namespace calcant {

namespace hearing {
struct Arrival;
}

// 28 bytes a line. Reading is safe from any number of threads while nothing is added.
class KnownSources {
 public:
  explicit KnownSources(Ear ear);
  ~KnownSources();
  KnownSources(KnownSources&&) noexcept;
  KnownSources& operator=(KnownSources&&) noexcept;

  // Numbered on from the last: the first is source 0. Refuses what check_lines refuses, and more than 2^32 lines in all.
  [[nodiscard]] Result<void> add(std::span<const Lines> sources);
  [[nodiscard]] std::size_t size() const { return places_.size(); }

  // These together, each named once: what Ear::hear makes of all their lines. None: silence. `left_out` is not counted.
  [[nodiscard]] Heard hear(std::span<const std::uint32_t> sounding) const;

  [[nodiscard]] const Ear& ear() const { return ear_; }

 private:
  Ear ear_;
  std::vector<hearing::Arrival> lines_;             // of all sources, by frequency; `line` is the source
  std::vector<std::vector<std::uint32_t>> places_;  // by source: where its lines stand among those
};

}  // namespace calcant
