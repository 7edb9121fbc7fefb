#include "engine/registration/level_draws.hpp"

#include <algorithm>
#include <atomic>
#include <thread>

#include "engine/quantity/random.hpp"
#include "engine/registration/weigh.hpp"

namespace calcant {
namespace {

constexpr double normal_95 = 1.96;
constexpr double condense_cents = 5.0;  // lines of one rank nearer than this are heard as one: under 0.1 % of loudness

EarSettings quarter_cam() {
  EarSettings s;
  s.grid = Grid::coarse;
  return s;
}

}  // namespace

std::vector<Decibels> redrawn_levels(const Organ& organ, std::uint64_t seed, std::size_t d) {
  Random random{seed, d};
  std::vector<Decibels> out;
  for (const Rank& rank : organ.ranks) out.emplace_back(random.normal() * level_band(rank) / normal_95);
  return out;
}

LevelDraws::LevelDraws(const Listening& listening, int draws, std::uint64_t seed)
    : listening_(&listening), ear_(quarter_cam()) {
  for (int d = 0; d < draws; ++d) {
    by_draw_.push_back(redrawn_levels(listening.organ(), seed, static_cast<std::size_t>(d)));
  }
}

Result<std::vector<double>> LevelDraws::phons(const Registration& drawn, const std::vector<KeysDown>& chords,
                                              const Work& work) {
  for (const auto& [of, phons] : known_) {
    if (of.first == drawn && of.second == chords) return phons;
  }
  // By chord: the lines of each rank that sounds.
  std::vector<std::vector<std::pair<std::size_t, Lines>>> sounds;
  Sounding sounding{listening_->organ()};
  PipeSet pipes;
  for (const KeysDown& down : chords) {
    sounding.pipes(drawn, down, pipes);
    auto& by_rank = sounds.emplace_back();
    for (std::size_t r = 0; r < pipes.ranks.size(); ++r) {
      if (pipes.ranks[r].empty()) continue;
      PipeSet one;
      one.ranks.resize(pipes.ranks.size());
      one.ranks[r] = pipes.ranks[r];
      by_rank.emplace_back(r, condensed(listening_->lines(one, drawn), Cents{condense_cents}));
    }
  }
  std::vector<double> out(by_draw_.size(), 0.0);
  std::atomic<std::size_t> next{0};
  const auto listen = [&] {
    for (std::size_t d = next.fetch_add(1); d < out.size(); d = next.fetch_add(1)) {
      if (work.stop.stop_requested()) return;
      for (const auto& by_rank : sounds) {
        Lines all;
        for (const auto& [rank, lines] : by_rank) {
          for (const Line& l : lines) all.push_back({l.frequency, l.level + by_draw_[d][rank]});
        }
        // Lines that could be heard can be heard at other levels.
        if (const auto heard = ear_.hear(all)) {
          out[d] += heard->loudness.phons.value() / static_cast<double>(sounds.size());
        }
      }
    }
  };
  {
    std::vector<std::jthread> helpers;
    for (int t = 1; t < work.threads; ++t) helpers.emplace_back(listen);
    listen();
  }
  if (work.stop.stop_requested()) return fail("stopped before the levels were drawn again");
  known_.push_back({{drawn, chords}, out});
  return out;
}

}  // namespace calcant
