// Mixtures invented by testing/invented.*; truth is what was planted.
#include <gtest/gtest.h>

#include <cmath>

#include "engine/measuring/measure.hpp"
#include "engine/measuring/testing/invented.hpp"

namespace calcant {
namespace {

constexpr int rate = 32000;

// Twelve keys of a stop of three pipes (2 ft, 1 1/3 ft, 1 ft), each pipe some cents off; the quint of the fifth key is
// dead and the ninth key is silent.
TEST(Mixture, EachPipeIsToldAndNoSinglePitchIsGiven) {
  RunPlan plan;
  std::vector<float> sound(50 * rate, 0.0F);
  const double ratios[] = {4.0, 6.0, 8.0};
  const double off[] = {3.0, -7.0, 11.0};
  for (int i = 0; i < 12; ++i) {
    PlannedKey key{Note{48 + i}, {}};
    for (int p = 0; p < 3; ++p) {
      const double hertz = 440.0 * std::exp2((48 + i - 69) / 12.0) * ratios[p];
      key.pipes.emplace_back(hertz);
      if (i == 8 || (i == 4 && p == 1)) continue;
      invented::Pipe pipe;
      pipe.hertz = hertz * std::exp2(off[p] / 1200.0);
      pipe.level_db = -26.0 - 2.0 * p;
      pipe.on = 2.0 + 3.9 * i;
      pipe.off = pipe.on + 2.6;
      invented::add(sound, rate, pipe, static_cast<std::uint64_t>(10 * i + p));
    }
    plan.keys.push_back(key);
  }
  invented::add_white(sound, -65.0, 5);
  const auto m = measure_run(recording_of(sound, rate), plan);
  ASSERT_TRUE(m) << sentence(m.error());
  for (const MeasuredNote& n : m->notes) {
    if (n.place == 8) {
      EXPECT_EQ(n.state, NoteState::dead);
      continue;
    }
    EXPECT_EQ(n.state, NoteState::speaks) << n.place;
    EXPECT_FALSE(n.cents);
    EXPECT_FALSE(n.pitch);
    EXPECT_FALSE(n.beat);
    EXPECT_TRUE(n.level);
    EXPECT_TRUE(n.speech);
    ASSERT_EQ(n.mixture.size(), 3U);
    const bool quint_dead = n.place == 4;
    EXPECT_EQ(n.pipes_heard, quint_dead ? 2 : 3) << n.place;
    ASSERT_TRUE(n.mixture[0].cents);
    // Against the plan, like every pitch of a run.
    EXPECT_NEAR(n.mixture[0].cents->value(), off[0], 1.0) << n.place;
    EXPECT_FALSE(n.mixture[0].shared);
    EXPECT_FALSE(n.mixture[1].shared);
    EXPECT_TRUE(n.mixture[2].shared);  // the octave's line is the second harmonic of the lowest as well
    if (quint_dead) {
      EXPECT_FALSE(n.mixture[1].cents);
    } else {
      EXPECT_NEAR(n.mixture[1].cents->value(), off[1], 1.0) << n.place;
      EXPECT_NEAR(n.mixture[1].level->value(), -28.0, 1.0) << n.place;
    }
  }
  bool told = false;
  for (const Finding& f : m->findings) {
    EXPECT_NE(f.kind, FindingKind::beats);
    if (f.kind != FindingKind::pipe_missing) continue;
    told = true;
    ASSERT_EQ(f.keys.size(), 1U);
    EXPECT_EQ(f.keys.front().midi, 52);
  }
  EXPECT_TRUE(told);
}

}  // namespace
}  // namespace calcant
