// How loud a registration would be if the levels that are only assumed were others: every rank's drawn again (weigh.hpp), the
// same levels for every registration that is asked about, so that two can be held against one another draw by draw.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "engine/hearing/loudness.hpp"
#include "engine/listening/listening.hpp"
#include "engine/organ/registration.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/work.hpp"

namespace calcant {

// What draw d adds to the level of every rank: normal, `level_band` of the rank as 95 %.
[[nodiscard]] std::vector<Decibels> redrawn_levels(const Organ& organ, std::uint64_t seed, std::size_t d);

// Answers are kept. Not thread-safe. The listening must outlive it.
class LevelDraws {
 public:
  LevelDraws(const Listening& listening, int draws, std::uint64_t seed = 1);

  // The mean loudness level over the chords, phon, in each draw; 0 where nothing sounds. Refuses stopped work.
  [[nodiscard]] Result<std::vector<double>> phons(const Registration& drawn, const std::vector<KeysDown>& chords,
                                                  const Work& work);

 private:
  const Listening* listening_;
  Ear ear_;
  std::vector<std::vector<Decibels>> by_draw_;  // of each rank
  std::vector<std::pair<std::pair<Registration, std::vector<KeysDown>>, std::vector<double>>> known_;
};

}  // namespace calcant
