// Truth is what the generator was told; the generator (testing/invented.*) shares no code with the analysis.
#include "engine/measuring/pitch.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>

#include "engine/measuring/statistics.hpp"
#include "engine/measuring/testing/invented.hpp"
#include "engine/quantity/random.hpp"

namespace calcant::measuring {
namespace {

struct Heard {
  double error = 0.0;  // cents, against the mean pitch of the stretch listened to
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
  static const std::vector<float> response = invented::church(48000);
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
  const auto fit = fit_pitch(steady, rate, {.expected = c.hertz * std::exp2((Random(seed).uniform() - 0.5) * 60 / 1200)}, bench);
  if (!fit) {
    ADD_FAILURE() << sentence(fit.error());
    return {1e9, 1e9, {}};
  }
  Heard h;
  h.pitch = fit->pitch;
  h.own_error = 1200.0 * std::log2(fit->pitch.hertz.value() / c.hertz);
  h.error = h.own_error - invented::mean_cents(course, from + h.pitch.from.value(), from + h.pitch.from.value() + h.pitch.stretch.value());
  return h;
}

TEST(Pitch, DrySteadyAt20dB) {
  for (const double f : {65.4, 130.8, 261.6, 1046.5, 2093.0, 4186.0, 7902.0}) {
    const auto h = hear({.hertz = f * 1.003, .white = -20}, 7);
    EXPECT_LT(std::fabs(h.error), 0.02) << f;
    EXPECT_LT(h.pitch.half_width_95.value(), 0.08) << f;
    std::printf("%8.1f Hz  error %+.4f  ±%.4f  %s\n", f, h.error, h.pitch.half_width_95.value(), word(h.pitch.ruled_by).data());
  }
}

// Aims of the project: see docs/accuracy/measuring.md for the figures found.
TEST(PitchSlow, CoverageAndAccuracy) {
  struct Kind { const char* name; Case base; };
  const bool have_room = !invented::church(48000).empty();
  int all = 0, covered = 0;
  for (const double f0 : {65.4, 261.6, 1046.5}) {
      if (getenv("ONLY") && f0 != std::stod(getenv("ONLY"))) continue;
    for (const auto& [name, base] : {Kind{"noise", {.white = -20}}, Kind{"brown", {.brown=-15}}, Kind{"room", {.white = -30, .brown = -25, .room = true}},
                                     Kind{"wind", {.wander = 1.0, .white = -30}}, Kind{"slow", {.wander = 1.0, .wander_hertz = 1.0, .white = -30}},
                                     Kind{"dryroom", {.white = -60, .room = true}}, Kind{"roomwind", {.wander = 0.3, .white = -30, .room = true}}}) {
      if (base.room && !have_room) continue;
      if (getenv("KIND") && std::string(getenv("KIND")) != name) continue;
      std::vector<double> widths;
      int n = 0, in = 0;
      double sq = 0, sq_own = 0, worst = 0;
      for (std::uint64_t s = 0; s < (getenv("CASES") ? std::stoul(getenv("CASES")) : 60); ++s) {
        Case c = base;
        Random r(s, 77);
        c.hertz = f0 * std::exp2(r.uniform(-6, 6) / 12.0);
        c.spectrum = s % 3 == 0 ? invented::principal_db : s % 3 == 1 ? invented::flute_db : invented::stopped_db;
        const auto h = hear(c, s * 31 + 5);
        ++n;
        in += std::fabs(h.own_error) <= h.pitch.half_width_95.value();
        sq += h.error * h.error;
        sq_own += h.own_error * h.own_error;
        worst = std::max(worst, std::fabs(h.error));
        widths.push_back(h.pitch.half_width_95.value());
      }
      std::printf("%7.1f %-9s cover %.3f rms own %.4f  rms played %.4f worst %.4f  width/rms %.2f\n", f0, name,
                  double(in) / n, std::sqrt(sq_own / n), std::sqrt(sq / n), worst,
                  median(widths) / std::sqrt(sq_own / n));
      all += n;
      covered += in;
    }
  }
  std::printf("pooled %.4f\n", double(covered) / all);
}

}  // namespace
}  // namespace calcant::measuring
