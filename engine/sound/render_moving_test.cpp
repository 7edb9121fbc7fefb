// What moves: beats, the swell box, the tremulant; and what must not, the memory taken.
#include <malloc.h>

#include <tuple>

#include "engine/sound/rendered_test.hpp"

namespace calcant {
namespace {

using namespace rendered;

Performance held(const std::vector<PipeId>& pipes, double seconds) {
  Performance p;
  for (const PipeId pipe : pipes) p.events.push_back({pipe, Seconds{0.1}, Seconds{0.1 + seconds}});
  p.length = Seconds{0.1 + seconds};
  return p;
}

double in_db(double ratio) { return 20 * std::log10(ratio); }

// A celeste against its partner: both lines stand where they were computed, at their own level, so they beat as computed.
TEST(Render, ACelesteBeatsAsComputed) {
  const PipeId plain = pipe_of("sw-salicional", 60);
  const PipeId celeste = pipe_of("sw-celeste", 60);
  const double beat = std::abs(nave().voice(plain).frequency.value() - nave().voice(celeste).frequency.value());
  ASSERT_GT(beat, 0.5);
  const std::vector<float> x = left_of(held({plain, celeste}, 12), steady());
  constexpr std::size_t from = 2 * 48000;
  constexpr std::size_t count = 9 * 48000;
  for (const PipeId pipe : {plain, celeste}) {
    const Line& line = nave().lines_open(pipe)[0];
    const double here = amplitude(x, from, count, line.frequency.value());
    EXPECT_NEAR(in_db(here / std::sqrt(2.0)) + 120, line.level.value(), 0.5);
    // A third of a hertz aside, three bins of nine seconds, there is next to nothing.
    for (const double aside : {-0.33, 0.33}) {
      EXPECT_LT(in_db(amplitude(x, from, count, line.frequency.value() + aside) / here), -25);
    }
  }
}

// Every line through the shut box is down by what the hearing model takes away, and half way through a slow opening as
// the straight line between has it.
TEST(Render, TheBoxTakesAwayWhatTheModelSays) {
  const PipeId pipe = pipe_of("sw-oboe", 60);
  const BoxIndex box = *nave().box_of(pipe.rank);
  const auto with_box = [&](std::vector<BoxPoint> points) {
    Performance p = one_pipe(pipe, 4);
    p.boxes = std::move(points);
    return left_of(p, steady());
  };
  const std::vector<float> open = with_box({});
  const std::vector<float> shut = with_box({{box, Seconds{0}, 0.0}});
  const std::vector<float> half = with_box({{box, Seconds{0}, 0.4}});
  for (const Line& l : nave().lines_open(pipe)) {
    if (l.level.value() < nave().lines_open(pipe)[0].level.value() - 30) continue;
    const double hz = l.frequency.value();
    const double full = amplitude(open, 2 * 48000, 48000, hz);
    EXPECT_NEAR(in_db(full / amplitude(shut, 2 * 48000, 48000, hz)), nave().box_loss(box, 0, l.frequency).value(), 0.2);
    EXPECT_NEAR(in_db(full / amplitude(half, 2 * 48000, 48000, hz)), nave().box_loss(box, 0.4, l.frequency).value(),
                0.2);
  }
  // From shut to open in two seconds: no louder than open, no softer than shut, and never falling by more than the wind's
  // own unsteadiness.
  const std::vector<float> moving = with_box({{box, Seconds{1}, 0.0}, {box, Seconds{3}, 1.0}});
  const double hz = nave().lines_open(pipe)[0].frequency.value();
  double before = 0;
  for (std::size_t at = 44000; at < 150000; at += 4800) {
    const double now = amplitude(moving, at, 4800, hz);
    EXPECT_GT(now, 0.98 * before) << at;
    before = now;
  }
  EXPECT_NEAR(in_db(before / amplitude(open, 150000, 4800, hz)), 0, 0.3);
}

// 5.5 times a second, an eighth of the level to either side, and only while it is drawn.
TEST(Render, TheTremulantShakesWhileItIsDrawn) {
  const PipeId pipe = pipe_of("sw-oboe", 60);
  Performance p = one_pipe(pipe, 6);
  p.tremulants = {{*division_by_id(village(), "swell"), Seconds{2}, Seconds{4}}};
  const std::vector<float> x = left_of(p, steady());
  const double hz = nave().voice(pipe).frequency.value();
  const auto swing = [&](double from, double to) {
    double least = 1e9;
    double most = 0;
    int rises = 0;
    double last = 0;
    const double middle = amplitude(x, static_cast<std::size_t>(1.2 * 48000), 24000, hz);
    for (double t = from; t < to; t += 0.005) {
      const double now = amplitude(x, static_cast<std::size_t>(t * 48000), 734, hz) / middle;  // four periods
      least = std::min(least, now);
      most = std::max(most, now);
      if (last < 1 && now >= 1 && last > 0) ++rises;
      last = now;
    }
    return std::tuple{least, most, rises};
  };
  const auto [least, most, rises] = swing(2.1, 3.9);
  EXPECT_NEAR(least, 0.88, 0.02);
  EXPECT_NEAR(most, 1.12, 0.02);
  EXPECT_NEAR(rises, 10, 1);  // 1.8 s at 5.5 a second
  const auto after = swing(4.2, 5.8);
  EXPECT_GT(std::get<0>(after), 0.99);
  EXPECT_LT(std::get<1>(after), 1.01);
}

// Struck again, a pipe does not begin as before: phases and noise are the stroke's.
TEST(Render, NoTwoStrokesAreTheSame) {
  const PipeId pipe = pipe_of("gt-open", 60);
  Performance p;
  p.events = {{pipe, Seconds{0.5}, Seconds{0.9}}, {pipe, Seconds{1.5}, Seconds{1.9}}};
  p.length = Seconds{2};
  RenderSettings s;
  s.dry = true;
  const std::vector<float> x = left_of(p, s);
  double both = 0;
  double apart = 0;
  for (std::size_t i = 24000; i < 43200; ++i) {
    both += x[i] * x[i] + x[i + 48000] * x[i + 48000];
    apart += (x[i] - x[i + 48000]) * (x[i] - x[i + 48000]);
  }
  EXPECT_GT(apart, 0.05 * both);
}

// Half the pressure: the jet has 0.35 of its power, 4.5 dB; and the pitch is 13 cents down (as assumed).
TEST(Render, WindThatFallsTakesLevelAndPitch) {
  const PipeId pipe = pipe_of("gt-open", 60);
  Performance p = one_pipe(pipe, 6);
  p.wind = {{Seconds{2.5}, 1.0}, {Seconds{3.0}, 0.5}};
  const std::vector<float> x = left_of(p, steady());
  const double hz = nave().voice(pipe).frequency.value();
  const double before = amplitude(x, 48000, 48000, hz);
  const double after = amplitude(x, 4 * 48000, 48000, hz * std::exp2(19 * std::log(0.5) / 1200));
  EXPECT_NEAR(20 * std::log10(after / before), 15 * std::log10(0.5), 0.05);
}

// An hour of music takes no more memory than its first minutes.
TEST(RenderSlow, MemoryDoesNotGrowWithTheMusic) {
  Performance p;
  for (int i = 0; i < 1800; ++i) {
    p.events.push_back({pipe_of("gt-fifteenth", 60 + i % 24), Seconds{2.0 * i}, Seconds{2.0 * i + 1}});
  }
  p.length = Seconds{3600};
  std::size_t early = 0;
  std::size_t most = 0;
  double seconds = 0;
  const auto done = render(
      p, nave(), steady(),
      [&](std::span<const float> block) -> Result<void> {
        seconds += static_cast<double>(block.size()) / 2 / sample_rate_hz;
        const std::size_t now = mallinfo2().uordblks;
        (seconds < 180 ? early : most) = std::max(seconds < 180 ? early : most, now);
        return {};
      },
      Work{2});
  ASSERT_TRUE(done);
  EXPECT_GT(seconds, 3600);
  ASSERT_GT(early, 0U);
  EXPECT_LT(most, early + 1000000);
  RecordProperty("bytes", std::to_string(early));
}

}  // namespace
}  // namespace calcant
