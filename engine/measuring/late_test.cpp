// Late (after the key: action or wind) against slow to speak (the pipe), on runs invented by testing/invented.*.
#include <gtest/gtest.h>

#include <cmath>

#include "engine/measuring/measure.hpp"
#include "engine/measuring/testing/invented.hpp"
#include "engine/quantity/random.hpp"

namespace calcant {
namespace {

constexpr int rate = 22050;
constexpr int late_place = 9;
constexpr int slow_place = 15;
constexpr double late_by = 0.130;

enum class Playing { even, uneven, uneven_with_key_noise };

MeasuredRun measured(Playing playing, std::uint64_t seed) {
  Random dice(seed, 5);
  RunPlan plan;
  std::vector<float> sound(static_cast<std::size_t>(100 * rate), 0.0F);
  for (int i = 0; i < 24; ++i) {
    const double hertz = 440.0 * std::exp2((48 + i - 69) / 12.0);
    plan.keys.push_back({Note{48 + i}, {Hertz{hertz}}});
    const double key = 3.0 + 3.8 * i + (playing == Playing::even ? 0.0 : dice.uniform(-0.15, 0.15));
    invented::Pipe p;
    p.hertz = hertz;
    p.on = key + 0.080 + (i == late_place ? late_by : 0.0);  // what the action takes
    p.off = key + 2.6;
    p.rise = std::max(0.012, 6.0 / hertz) * (i == slow_place ? 3.5 : 1.0);
    invented::add(sound, rate, p, seed * 100 + static_cast<std::uint64_t>(i));
    if (playing == Playing::uneven_with_key_noise)
      invented::add_knock(sound, rate, key, -34.0, seed * 200 + static_cast<std::uint64_t>(i));
  }
  invented::add_white(sound, -65.0, seed);
  auto m = measure_run(recording_of(sound, rate), plan);
  EXPECT_TRUE(m) << sentence(m.error());
  return m ? std::move(*m) : MeasuredRun{};
}

bool found(const MeasuredRun& m, FindingKind kind, int place) {
  for (const Finding& f : m.findings)
    if (f.kind == kind)
      for (const Note k : f.keys)
        if (k.midi == 48 + place) return true;
  return false;
}

int notes_found(const MeasuredRun& m, FindingKind kind) {
  int n = 0;
  for (const Finding& f : m.findings)
    if (f.kind == kind) n += static_cast<int>(f.keys.size());
  return n;
}

TEST(Late, IsToldByThePlayedBeatAndByTheNoiseOfTheKeys) {
  for (const Playing playing : {Playing::even, Playing::uneven_with_key_noise})
    for (const std::uint64_t seed : {1U, 2U, 3U}) {
      const auto m = measured(playing, seed);
      ASSERT_EQ(m.notes.size(), 24U);
      ASSERT_TRUE(m.notes[late_place].late) << static_cast<int>(playing);
      EXPECT_NEAR(m.notes[late_place].late->value(), late_by, 0.025) << static_cast<int>(playing);
      EXPECT_TRUE(found(m, FindingKind::late, late_place));
      EXPECT_EQ(notes_found(m, FindingKind::late), 1) << static_cast<int>(playing);
      // The slow pipe is slow and in time; the late one late and quick.
      EXPECT_TRUE(found(m, FindingKind::slow_speech, slow_place));
      EXPECT_FALSE(found(m, FindingKind::slow_speech, late_place));
      EXPECT_FALSE(found(m, FindingKind::late, slow_place));
    }
}

TEST(Late, IsNotSaidWhereNothingTellsIt) {
  const auto m = measured(Playing::uneven, 4);
  for (const MeasuredNote& n : m.notes) EXPECT_FALSE(n.late);
  EXPECT_EQ(notes_found(m, FindingKind::late), 0);
}

}  // namespace
}  // namespace calcant
