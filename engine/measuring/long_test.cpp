// A recorder left running: hours are streamed, and what is kept of them is bounded.
#include <gtest/gtest.h>
#include <sys/resource.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numbers>

#include "engine/measuring/measure.hpp"

namespace calcant {
namespace {

constexpr int rate = 8000;
constexpr double hours = 5.0;
constexpr double first_note = 3.0 * 3600.0;  // s
constexpr int keys = 12;

double hertz_of(int key) { return 440.0 * std::exp2((48 + key - 69) / 12.0); }

// Hiss from the sample's own number, and from the third hour on twelve notes of 4 s, 6 s apart.
float sample(std::int64_t n) {
  std::uint64_t x = static_cast<std::uint64_t>(n) * 0x9E3779B97F4A7C15ULL;
  x = (x ^ (x >> 29)) * 0xBF58476D1CE4E5B9ULL;
  x ^= x >> 32;
  double v = 0.0005 * (static_cast<double>(x >> 11) * 0x1.0p-52 - 1.0);
  const double t = static_cast<double>(n) / rate - first_note;
  const int key = static_cast<int>(std::floor(t / 6.0));
  const double in = t - 6.0 * key;
  if (t >= 0.0 && key < keys && in < 4.0)
    for (int k = 1; k <= 6; ++k)
      v += 0.08 / k * std::min(1.0, in / 0.05) *
           std::sin(2.0 * std::numbers::pi * k * std::fmod(hertz_of(key) * in, 1.0));
  return static_cast<float>(v);
}

// Kilobytes, the most the program ever had.
long most_memory() {
  rusage u{};
  getrusage(RUSAGE_SELF, &u);
  return u.ru_maxrss;
}

TEST(LongSlow, HoursAreStreamedInBoundedMemory) {
  constexpr auto all = static_cast<std::int64_t>(hours * 3600.0 * rate);
  Recording recording{rate, [](std::int64_t from, std::span<float> into) -> Result<std::int64_t> {
                        const std::int64_t n =
                            std::clamp<std::int64_t>(all - from, 0, static_cast<std::int64_t>(into.size()));
                        for (std::int64_t i = 0; i < n; ++i) into[static_cast<std::size_t>(i)] = sample(from + i);
                        return n;
                      }};
  RunPlan plan;
  for (int i = 0; i < keys; ++i) plan.keys.push_back({Note{48 + i}, {Hertz{hertz_of(i)}}});
  const long before = most_memory();
  const auto m = measure_run(recording, plan);
  ASSERT_TRUE(m) << sentence(m.error());
  const double megabytes = static_cast<double>(most_memory() - before) / 1024.0;
  std::printf("%.0f hours: %.0f MB more than before, of %.0f MB of samples\n", hours, megabytes,
              4.0 * static_cast<double>(all) / 1e6);
  // 13 MB an hour and what stands for the notes being measured (run_plan.hpp).
  EXPECT_LT(megabytes, 13.0 * hours + 30.0);
  EXPECT_NEAR(m->length.value(), hours * 3600.0, 1.0);
  for (const MeasuredNote& n : m->notes) {
    EXPECT_EQ(n.state, NoteState::speaks) << n.key.midi;
    ASSERT_TRUE(n.cents);
    EXPECT_NEAR(n.cents->value(), 0.0, 0.1);
  }
}

// One that never ends is refused after a day, without being kept.
TEST(LongSlow, WhatNeverEndsIsRefused) {
  const Recording endless{8000, [](std::int64_t, std::span<float> into) -> Result<std::int64_t> {
                            std::ranges::fill(into, 0.25F);
                            return static_cast<std::int64_t>(into.size());
                          }};
  const auto m = measure_run(endless, RunPlan{{{Note{60}, {Hertz{261.6}}}}});
  ASSERT_FALSE(m);
  EXPECT_NE(sentence(m.error()).find("24 hours"), std::string::npos);
}

}  // namespace
}  // namespace calcant
