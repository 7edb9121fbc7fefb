// A cipher a semitone from the note, invented by testing/invented.*; truth is what was planted.
#include "engine/measuring/foreign.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "engine/measuring/measure.hpp"
#include "engine/measuring/testing/invented.hpp"

namespace calcant::measuring {
namespace {

constexpr int rate = 22050;

double rms(std::span<const float> x) {
  double sum = 0.0;
  for (const float v : x) sum += static_cast<double>(v) * static_cast<double>(v);
  return std::sqrt(sum / static_cast<double>(x.size()));
}

std::span<const float> stretch(const std::vector<float>& x, double from, double to) {
  return std::span<const float>(x).subspan(static_cast<std::size_t>(from * rate),
                                           static_cast<std::size_t>((to - from) * rate));
}

// The line goes, 30 dB of it at least, and the note beside it stays as it was.
TEST(Foreign, TheLineGoesAndTheNoteStays) {
  for (const double f : {65.4, 262.0, 1047.0}) {
    invented::Pipe note;
    note.hertz = f;
    note.on = 2.0;
    note.off = 4.5;
    std::vector<float> alone(6 * rate, 0.0F);
    invented::add(alone, rate, note, 1);
    invented::Pipe cipher;
    cipher.hertz = f * std::exp2(-1.0 / 12.0);
    cipher.harmonics_db = {0};
    cipher.on = -1.0;
    cipher.off = 9.0;
    std::vector<float> both = alone;
    invented::add(both, rate, cipher, 2);
    const auto left = take_away(both, rate, 0.0, {{cipher.hertz + 0.02, 0.0, 6.0}}, {f, 2.0});
    EXPECT_TRUE(left.empty());
    for (std::size_t i = 0; i < both.size(); ++i) both[i] -= alone[i];
    const double whole = std::pow(10.0, -20.0 / 20.0) / std::sqrt(2.0);
    EXPECT_LT(rms(stretch(both, 1.0, 4.0)), 0.032 * whole) << f;
  }
}

TEST(Foreign, ALineOnTheNotesOwnHarmonicIsLeft) {
  std::vector<float> x(rate, 0.1F);
  const std::vector<float> before = x;
  const auto left = take_away(x, rate, 0.0, {{524.5, 0.0, 1.0}}, {262.0, 0.2});
  ASSERT_EQ(left.size(), 1U);
  EXPECT_EQ(left.front(), 524.5);
  EXPECT_EQ(x, before);
}

// A cipher from before the first note to after the last: every note is measured through it, and it is told.
TEST(Foreign, ACipherThroughTheWholeRun) {
  for (const bool in_the_plan : {true, false}) {
    std::vector<float> sound(static_cast<std::size_t>(34 * rate), 0.0F);
    RunPlan plan;
    const int cipher_key = 62;
    int turn = 0;
    for (int midi = 58; midi < 66; ++midi) {
      if (midi == cipher_key && !in_the_plan) continue;
      const double hertz = 440.0 * std::exp2((midi - 69) / 12.0);
      plan.keys.push_back({Note{midi}, {Hertz{hertz}}});
      invented::Pipe p;
      p.hertz = hertz * std::exp2((midi % 3 - 1) / 1200.0);
      p.on = 2.0 + 3.8 * turn++;
      p.off = p.on + 2.6;
      if (midi == cipher_key) continue;
      invented::add(sound, rate, p, static_cast<std::uint64_t>(midi));
    }
    invented::Pipe cipher;
    cipher.hertz = 440.0 * std::exp2((cipher_key - 69) / 12.0);
    cipher.on = -1.0;
    cipher.off = 40.0;
    invented::add(sound, rate, cipher, 7);
    invented::add_white(sound, -65.0, 8);
    const auto m = measure_run(recording_of(sound, rate), plan);
    ASSERT_TRUE(m) << sentence(m.error());
    for (const MeasuredNote& n : m->notes) {
      if (n.key.midi == cipher_key) {
        EXPECT_EQ(n.state, NoteState::cipher);
        continue;
      }
      EXPECT_EQ(n.state, NoteState::speaks) << n.key.midi;
      ASSERT_TRUE(n.cents) << n.key.midi << ' ' << n.remark;
      EXPECT_NEAR(n.cents->value(), n.key.midi % 3 - 1, 0.3) << n.key.midi;
      EXPECT_FALSE(n.beat) << n.key.midi;
      EXPECT_TRUE(n.disturbed);
    }
    EXPECT_TRUE(std::ranges::any_of(m->remarks, [](const std::string& s) {
      return s.find("from the first second to the last") != std::string::npos;
    }));
  }
}

}  // namespace
}  // namespace calcant::measuring
