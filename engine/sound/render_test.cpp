// Self-consistency: the sound made is the sound the model says (docs/accuracy/sound.md). The outside checks of the
// rendered audio (aubio, K-weighted loudness) are made on files, in tests/.
#include "engine/sound/rendered_test.hpp"

namespace calcant {
namespace {

using namespace rendered;

TEST(RenderSlow, DrySteadySpectrumIsTheVoicesLines) {
  for (const Rank& rank : village().ranks) {
    for (const int step : {0, rank.pipes / 2, rank.pipes - 1}) {
      const PipeId pipe = pipe_of(rank.id.c_str(), rank.low_key.midi + step);
      const Lines& lines = nave().lines_open(pipe);
      // The Swell's box has no points in this performance: it stands open.
      const std::vector<float> x = left_of(one_pipe(pipe, 4.5), steady());
      double strongest = -1e9;
      for (const Line& l : lines) strongest = std::max(strongest, l.level.value());
      for (const Line& l : lines) {
        if (l.level.value() < strongest - 60) continue;
        const double got = 20 * std::log10(amplitude(x, 3 * 48000, 48000, l.frequency.value()) / std::sqrt(2.0)) + 120;
        EXPECT_NEAR(got, l.level.value(), 0.5) << rank.id << " " << step << " at " << l.frequency.value() << " Hz";
      }
    }
  }
}

// Seconds from 10 to 90 % of the fundamental's full amplitude, by its envelope over two periods.
double rise_of(PipeId pipe) {
  const double hz = nave().voice(pipe).frequency.value();
  const std::vector<float> x = left_of(one_pipe(pipe, 3), steady());
  const auto window = static_cast<std::size_t>(std::lround(2 * sample_rate_hz / hz));
  const double full = amplitude(x, 2 * 48000, 48000, hz);
  double at_10 = 0;
  for (std::size_t from = 4800 - window / 2; from + window < 2 * 48000; from += 16) {
    const double now = amplitude(x, from, window, hz) / full;
    const double centre = (static_cast<double>(from) + static_cast<double>(window) / 2) / sample_rate_hz;
    if (at_10 == 0 && now >= 0.1) at_10 = centre;
    if (now >= 0.9) return centre - at_10;
  }
  return 0;
}

// Every family and form of the organ. The window of two periods blurs an attack of a few.
TEST(Render, RisesAsModelled) {
  for (const char* rank : {"gt-open", "gt-clarabella", "gt-dulciana", "sw-gedackt", "sw-oboe"}) {
    for (const int key : {48, 60, 72}) {
      const PipeId pipe = pipe_of(rank, key);
      const Voice& v = nave().voice(pipe);
      // First-order build-up: 10 to 90 % takes 2.197 time constants, 90 % is reached after 2.303 of them.
      const double modelled = v.speech.partial_rise_periods[0] / v.frequency.value() / 2.303 * 2.197;
      EXPECT_NEAR(rise_of(pipe), modelled, 0.1 * modelled + 0.0015) << rank << " " << key;
    }
  }
}

TEST(RenderSlow, SameBytesOnAnyNumberOfThreads) {
  Performance p;
  for (int key = 48; key < 72; ++key) {
    p.events.push_back({pipe_of("gt-open", key), Seconds{0.03 * (key - 48)}, Seconds{1.0}});
  }
  p.length = Seconds{1};
  RenderSettings s;
  EXPECT_EQ(left_of(p, s, 1), left_of(p, s, 2));
  RenderSettings other = s;
  other.seed = 2;
  EXPECT_NE(left_of(p, s, 1), left_of(p, other, 1));
}

TEST(Render, RefusesSilenceAndOverload) {
  const auto nowhere = [](std::span<const float>) -> Result<void> { return {}; };
  EXPECT_FALSE(render(Performance{}, nave(), RenderSettings{}, nowhere, Work{}));
  RenderSettings loud;
  loud.gain = Decibels{80};
  const auto refused = render(one_pipe(pipe_of("gt-open", 60), 1), nave(), loud, nowhere, Work{});
  ASSERT_FALSE(refused);
  EXPECT_NE(refused.error().message.find("listening gain"), std::string::npos);
  std::stop_source stop;
  stop.request_stop();
  EXPECT_FALSE(
      render(one_pipe(pipe_of("gt-open", 60), 1), nave(), RenderSettings{}, nowhere, Work{1, stop.get_token()}));
}

}  // namespace
}  // namespace calcant
