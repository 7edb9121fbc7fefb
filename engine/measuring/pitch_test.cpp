// Truth is what the generator was told; the generator (testing/invented.*) shares no code with the analysis.
#include "engine/measuring/pitch.hpp"

#include <gtest/gtest.h>

#include <atomic>
#include <cmath>
#include <cstdio>
#include <thread>

#include "engine/measuring/statistics.hpp"
#include "engine/measuring/testing/invented.hpp"
#include "engine/quantity/random.hpp"

namespace calcant::measuring {
namespace {

struct Heard {
  double error = 0.0;      // cents, against the mean pitch of the stretch listened to
  double own_error = 0.0;  // against the pipe's own pitch
  Pitch pitch;
};

struct Case {
  double hertz = 261.6;
  std::vector<double> spectrum = invented::principal_db;
  double wander = 0.0;
  double wander_hertz = 4.0;
  double white = -200.0;
  double brown = -200.0;
  bool room = false;
  double seconds = 4.0;
};

Heard hear(const Case& c, std::uint64_t seed, int rate = 48000) {
  static const std::vector<float> response = invented::church(rate);
  Bench bench;
  invented::Pipe p;
  p.hertz = c.hertz;
  p.harmonics_db = c.spectrum;
  p.on = 0.2;
  p.off = 0.2 + c.seconds;
  p.wander_cents = c.wander;
  p.wander_hertz = c.wander_hertz;
  std::vector<float> sound(static_cast<std::size_t>((c.seconds + 0.6) * rate), 0.0F);
  const auto course = invented::add(sound, rate, p, seed);
  if (c.room) sound = invented::in_room(sound, response);
  double power = 0.0;
  for (const double db : c.spectrum) power += std::pow(10.0, (p.level_db + db) / 10.0) / 2.0;
  const double level = 10.0 * std::log10(power);
  if (c.white > -150) invented::add_white(sound, level + c.white, seed + 1);
  if (c.brown > -150) invented::add_brown(sound, rate, level + c.brown, seed + 2);
  const double from = std::max(0.6, 30.0 / c.hertz);
  const double to = c.seconds - 0.1;
  const auto steady = std::span<const float>(sound).subspan(static_cast<std::size_t>((p.on + from) * rate),
                                                            static_cast<std::size_t>((to - from) * rate));
  const auto fit =
      fit_pitch(steady, rate, {.expected = c.hertz * std::exp2((Random(seed).uniform() - 0.5) * 60 / 1200)}, bench);
  if (!fit) {
    ADD_FAILURE() << sentence(fit.error());
    return {1e9, 1e9, {}};
  }
  Heard h;
  h.pitch = fit->pitch;
  h.own_error = 1200.0 * std::log2(fit->pitch.hertz.value() / c.hertz);
  h.error = h.own_error - invented::mean_cents(course, from + h.pitch.from.value(),
                                               from + h.pitch.from.value() + h.pitch.stretch.value());
  return h;
}

TEST(Pitch, RefusesWhatIsNoTone) {
  Bench bench;
  std::vector<float> noise(48000);
  invented::add_white(noise, -30, 1);
  EXPECT_FALSE(fit_pitch(noise, 48000, {.expected = 440.0}, bench));
  EXPECT_FALSE(fit_pitch(std::span<const float>(noise).first(1000), 48000, {.expected = 440.0}, bench));
  EXPECT_FALSE(fit_pitch(std::vector<float>(48000), 48000, {.expected = 440.0}, bench));
}

// Student's t: Abramowitz & Stegun, Handbook of Mathematical Functions, table 26.10 (two-sided 0.05).
TEST(Statistics, StudentsPoints) {
  EXPECT_NEAR(student_95(1), 12.706, 5e-4);
  EXPECT_NEAR(student_95(5), 2.571, 5e-4);
  EXPECT_NEAR(student_95(30), 2.042, 5e-4);
}

TEST(Pitch, DrySteadyAt20dB) {
  for (const double f : {65.4, 130.8, 261.6, 1046.5, 2093.0, 4186.0, 7902.0}) {
    const auto h = hear({.hertz = f * 1.003, .white = -20}, 7);
    EXPECT_LT(std::fabs(h.error), 0.02) << f;
    EXPECT_LT(h.pitch.half_width_95.value(), 0.08) << f;
  }
}

// The aims: intervals cover 92 to 98 % pooled and 88 to 99 % in each kind; half-widths at most 3 times the rms error;
// 0.05 cent in a church, rms 0.05 cent under 1 cent of wander of the wind (against the mean of what was played).
TEST(PitchSlow, CoverageAndAccuracy) {
  struct Kind {
    const char* name;
    Case base;
  };
  constexpr int rate = 24000;
  constexpr int cases = 150;
  const bool have_room = !invented::church(rate).empty();
  if (!have_room) std::printf("../shared/rooms is not here: the kinds in a church are left out\n");
  int all = 0;
  int covered = 0;
  for (const double middle : {82.4, 261.6, 830.6}) {
    for (const auto& [name, base] : {Kind{"noise", {.white = -20}}, Kind{"room", {.white = -25, .room = true}},
                                     Kind{"wind", {.wander = 1.0, .white = -30}}}) {
      if (base.room && !have_room) continue;
      std::vector<Heard> heard(cases);
      std::atomic<std::size_t> next{0};
      const auto work = [&, made = base] {
        for (std::size_t s = next++; s < heard.size(); s = next++) {
          Case c = made;
          Random r(s, 77);
          c.hertz = middle * std::exp2(r.uniform(-4, 4) / 12.0);
          c.spectrum = s % 3 == 0 ? invented::principal_db : s % 3 == 1 ? invented::flute_db : invented::stopped_db;
          heard[s] = hear(c, s * 31 + 5, rate);
        }
      };
      {
        std::jthread other(work);
        work();
      }
      std::vector<double> widths;
      int in = 0;
      double square = 0.0;
      double own_square = 0.0;
      double worst = 0.0;
      for (const auto& h : heard) {
        in += std::fabs(h.own_error) <= h.pitch.half_width_95.value();
        square += h.error * h.error / cases;
        own_square += h.own_error * h.own_error / cases;
        worst = std::max(worst, std::fabs(h.error));
        widths.push_back(h.pitch.half_width_95.value());
      }
      const double ratio = median(widths) / std::sqrt(own_square);
      std::printf(
          "%6.1f Hz %-5s covered %.3f, rms error of the pipe's pitch %.4f, of the stretch played %.4f, worst %.4f "
          "cent, "
          "median half-width %.2f times rms\n",
          middle, name, static_cast<double>(in) / cases, std::sqrt(own_square), std::sqrt(square), worst, ratio);
      all += cases;
      covered += in;
      EXPECT_GE(in, 0.88 * cases) << name << ' ' << middle;
      EXPECT_LE(in, 0.99 * cases) << name << ' ' << middle;
      EXPECT_LE(ratio, 3.0) << name << ' ' << middle;
      EXPECT_LT(std::sqrt(square), 0.05) << name << ' ' << middle;
      if (base.wander == 0.0) {
        EXPECT_LT(worst, base.room ? 0.05 : 0.02) << name << ' ' << middle;
      }
    }
  }
  std::printf("pooled: %d of %d covered (%.1f %%)\n", covered, all, 100.0 * covered / all);
  EXPECT_GE(covered, 0.92 * all);
  EXPECT_LE(covered, 0.98 * all);
}

}  // namespace
}  // namespace calcant::measuring
