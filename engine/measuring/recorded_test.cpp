// Recorded instruments (testing/recorded.*) resampled by known amounts: the difference is then known truth.
#include "engine/measuring/testing/recorded.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "engine/measuring/measure.hpp"

namespace calcant {
namespace {

constexpr int rate = 48000;

TEST(RecordedSlow, AKnownDifferenceIsFound) {
  for (const auto& instrument : recorded::instruments()) {
    const auto sound = recorded::played(instrument, rate);
    if (sound.empty()) GTEST_SKIP() << "fluidsynth or fluid-soundfont-gm is not installed";
    RunPlan plan;
    for (const int key : instrument.keys)
      plan.keys.push_back({Note{key}, {Hertz{440.0 * std::exp2((key - 69) / 12.0)}}});
    int notes = 0;
    int covered = 0;
    double square = 0.0;
    double worst = 0.0;
    const auto before = measure_run(recording_of(sound, rate), plan);
    ASSERT_TRUE(before) << sentence(before.error());
    for (const double cents : {0.5, 3.7, -11.3, 23.9}) {
      const auto raised = recorded::raised(sound, cents);
      const auto after = measure_run(recording_of(raised, rate), plan);
      ASSERT_TRUE(after) << sentence(after.error());
      for (std::size_t i = 0; i < plan.keys.size(); ++i) {
        const MeasuredNote& a = before->notes[i];
        const MeasuredNote& b = after->notes[i];
        ASSERT_EQ(a.state, NoteState::speaks) << instrument.name << ' ' << a.key.midi;
        ASSERT_EQ(b.state, NoteState::speaks) << instrument.name << ' ' << b.key.midi;
        if (!a.cents || !b.cents) continue;
        const double error = b.cents->value() - a.cents->value() - cents;
        ++notes;
        square += error * error;
        worst = std::max(worst, std::fabs(error));
        covered += std::fabs(error) <= std::hypot(a.pitch->half_width_95.value(), b.pitch->half_width_95.value());
      }
    }
    const double rms = std::sqrt(square / std::max(1, notes));
    std::printf("%-28s %d of %zu differences, rms error %.4f cent, worst %.4f, %d within their intervals\n",
                instrument.name.c_str(), notes, 4 * plan.keys.size(), rms, worst, covered);
    if (!instrument.one_pipe) continue;
    EXPECT_GE(notes, 0.9 * static_cast<double>(4 * plan.keys.size())) << instrument.name;
    EXPECT_LT(rms, 0.1) << instrument.name;
    EXPECT_LT(worst, 0.3) << instrument.name;
  }
}

}  // namespace
}  // namespace calcant
