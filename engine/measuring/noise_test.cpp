// Wind noise and chiff against what the generator (testing/invented.*) was told.
#include <gtest/gtest.h>

#include <cmath>

#include "engine/measuring/measure.hpp"
#include "engine/measuring/testing/invented.hpp"

namespace calcant {
namespace {

constexpr int rate = 48000;

MeasuredNote heard(double hertz, double wind_db, double chiff_db) {
  invented::Pipe p;
  p.hertz = hertz;
  p.on = 2.0;
  p.off = 6.0;
  p.wind_noise_db = wind_db;
  p.chiff_db = chiff_db;
  std::vector<float> sound(8 * rate, 0.0F);
  invented::add(sound, rate, p, 11);
  invented::add_white(sound, -85.0, 12);
  const auto m = measure_run(recording_of(sound, rate), RunPlan{{{Note{60}, {Hertz{hertz}}}}});
  EXPECT_TRUE(m);
  return m ? m->notes.front() : MeasuredNote{};
}

double tone_db() {
  double power = 0.0;
  for (const double db : invented::Pipe{}.harmonics_db) power += std::pow(10.0, (-20.0 + db) / 10.0) / 2.0;
  return 10.0 * std::log10(power);
}

// White noise of that rms has 7 of 24 kHz between 1 and 8.
TEST(Noise, WindIsReadAsItWasMade) {
  for (const double f : {131.0, 262.0, 523.0, 1047.0})
    for (const double wind : {-45.0, -55.0, -65.0}) {
      const auto n = heard(f, wind, -200.0);
      ASSERT_TRUE(n.wind_noise) << f << ' ' << wind;
      const double truth = wind + 10.0 * std::log10(7.0 / 24.0) - tone_db();
      EXPECT_NEAR(n.wind_noise->value(), truth, 1.0) << f << ' ' << wind;
    }
}

// The burst's own level is a matter of its shape; that 10 dB more of it are read as 10 dB more is not.
TEST(Noise, ChiffRisesAsItWasMade) {
  for (const double f : {262.0, 523.0}) {
    const auto soft = heard(f, -65.0, -45.0);
    const auto loud = heard(f, -65.0, -35.0);
    const auto none = heard(f, -65.0, -200.0);
    ASSERT_TRUE(soft.speech && soft.speech->chiff) << f;
    ASSERT_TRUE(loud.speech && loud.speech->chiff) << f;
    EXPECT_NEAR(loud.speech->chiff->value() - soft.speech->chiff->value(), 10.0, 2.0) << f;
    EXPECT_TRUE(!none.speech->chiff || none.speech->chiff->value() < soft.speech->chiff->value() - 3.0) << f;
  }
}

}  // namespace
}  // namespace calcant
