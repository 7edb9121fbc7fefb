// How surely a second pipe is told, by how fast it beats with the first and how much softer it is. Truth is what the
// generator (testing/invented.*), which shares no code with the analysis, was told.
#include <gtest/gtest.h>

#include <array>
#include <atomic>
#include <cmath>
#include <cstdio>
#include <thread>

#include "engine/measuring/measure.hpp"
#include "engine/measuring/testing/invented.hpp"
#include "engine/quantity/random.hpp"

namespace calcant {
namespace {

constexpr int rate = 22050;

// One note of 4 s with noise and a wind wandering by 0.2 cent; `softer` < 0: no second pipe.
MeasuredNote heard(double beats, double softer, std::uint64_t seed) {
  Random dice(seed, 91);
  invented::Pipe p;
  p.hertz = 65.0 * std::exp2(dice.uniform(0.0, 4.0));
  p.harmonics_db = seed % 3 == 0 ? invented::principal_db : seed % 3 == 1 ? invented::flute_db : invented::stopped_db;
  p.rise = std::max(0.012, 6.0 / p.hertz);
  p.on = 1.0;
  p.off = 5.0;
  p.wander_cents = 0.2;
  p.wind_noise_db = p.level_db - 40.0;
  std::vector<float> sound(6 * rate, 0.0F);
  const RunPlan plan{{{Note{60}, {Hertz{p.hertz}}}}};
  invented::add(sound, rate, p, seed * 3 + 1);
  if (softer >= 0.0) {
    p.hertz += beats * (seed % 2 == 0 ? 1.0 : -1.0);
    p.level_db -= softer;
    invented::add(sound, rate, p, seed * 3 + 2);
  }
  invented::add_white(sound, -60.0, seed * 3 + 3);
  const auto m = measure_run(recording_of(sound, rate), plan);
  EXPECT_TRUE(m);
  return m ? m->notes.front() : MeasuredNote{};
}

double told(double beats, double softer, int cases, std::uint64_t first) {
  std::atomic<int> next{0};
  std::atomic<int> found{0};
  const auto work = [&] {
    for (int n = next++; n < cases; n = next++)
      found += heard(beats, softer, first + static_cast<std::uint64_t>(n)).pipes_heard == 2;
  };
  {
    std::jthread other(work);
    work();
  }
  return static_cast<double>(found) / cases;
}

TEST(PairsSlow, PowerCurve) {
  constexpr std::array rates{0.05, 0.1, 0.2, 0.3, 0.5, 1.0, 2.0, 4.0, 8.0};
  constexpr std::array softer{0.0, 3.0, 6.0, 12.0, 18.0, 24.0, 30.0};
  constexpr int cases = 30;
  std::printf(
      "share of second pipes told, notes of 4 s; down: beats a second of the fundamentals, across: dB softer\n      ");
  for (const double d : softer) std::printf("%6.0f", d);
  std::printf("\n");
  std::uint64_t seed = 7000;
  int inside = 0;
  double sum = 0.0;
  for (const double r : rates) {
    std::printf("%6.2f", r);
    for (const double d : softer) {
      const double share = told(r, d, cases, seed += 1000);
      std::printf("%6.2f", share);
      if (r < pair_limit.slowest.value() || r > pair_limit.fastest.value() || d > pair_limit.softer.value()) continue;
      ++inside;
      sum += share;
      EXPECT_GE(share, pair_limit.told - 0.1) << r << " a second, " << d << " dB";
    }
    std::printf("\n");
  }
  // What the tool says where one pipe was heard.
  EXPECT_GE(sum / inside, pair_limit.told);
  const double alarms = told(0.0, -1.0, 600, 90000);
  std::printf("one pipe taken for two: %.4f of 600\n", alarms);
  EXPECT_LE(alarms, 0.01);
}

}  // namespace
}  // namespace calcant
