// Self-consistency: the sound made is the sound the model says (docs/accuracy/sound.md). The outside checks of the
// rendered audio (aubio, K-weighted loudness) are made on files, in tests/.
#include "engine/sound/render.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

constexpr double two_pi = 2.0 * std::numbers::pi;

const Organ& village() {
  static const Organ organ = [] {
    auto folder = read_organ_folder("demo/village");
    EXPECT_TRUE(folder);
    return folder ? folder->organ : Organ{};
  }();
  return organ;
}

const Listening& nave() {
  static const Listening listening{village(), usual_condition(village())};
  return listening;
}

RenderSettings steady() {
  RenderSettings s;
  s.dry = true;
  s.noise = false;
  s.irregular = false;
  return s;
}

std::vector<float> left_of(const Performance& p, const RenderSettings& s, int threads = 1) {
  std::vector<float> out;
  const auto done = render(
      p, nave(), s,
      [&](std::span<const float> block) -> Result<void> {
        for (std::size_t i = 0; i < block.size(); i += 2) out.push_back(block[i]);
        return {};
      },
      Work{threads});
  EXPECT_TRUE(done) << sentence(done.error());
  return out;
}

Performance one_pipe(PipeId pipe, double seconds) {
  Performance p;
  p.events = {{pipe, Seconds{0.1}, Seconds{0.1 + seconds}}};
  p.length = Seconds{0.1 + seconds};
  return p;
}

// Amplitude of a sinusoid of known frequency over a second, by a Hann window (side lobes 32 dB down and falling).
double amplitude(const std::vector<float>& x, std::size_t from, std::size_t count, double hz) {
  double re = 0;
  double im = 0;
  double sum = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const double w = 0.5 - 0.5 * std::cos(two_pi * static_cast<double>(i) / static_cast<double>(count));
    const double at = two_pi * hz / sample_rate_hz * static_cast<double>(i);
    re += w * x[from + i] * std::cos(at);
    im -= w * x[from + i] * std::sin(at);
    sum += w;
  }
  return 2 * std::hypot(re, im) / sum;
}

PipeId pipe_of(const char* rank, int key) {
  const auto r = rank_by_id(village(), rank);
  EXPECT_TRUE(r) << rank;
  return {r.value_or(0), key - village().ranks[static_cast<std::size_t>(r.value_or(0))].low_key.midi + 1};
}

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

TEST(Render, RisesAsModelled) {
  for (const char* rank : {"gt-open", "gt-clarabella"}) {
    const PipeId pipe = pipe_of(rank, 60);
    const Voice& v = nave().voice(pipe);
    const double hz = v.frequency.value();
    const std::vector<float> x = left_of(one_pipe(pipe, 3), steady());
    // The fundamental's envelope, period by period.
    const auto period = static_cast<std::size_t>(std::lround(2 * sample_rate_hz / hz));
    const double full = amplitude(x, 2 * 48000, 48000, hz);
    double at_10 = 0;
    double at_90 = 0;
    for (std::size_t from = 4800 - period / 2; from + period < 48000 && at_90 == 0; from += 16) {
      const double now = amplitude(x, from, period, hz) / full;
      const double centre = (static_cast<double>(from) + static_cast<double>(period) / 2) / sample_rate_hz;
      if (at_10 == 0 && now >= 0.1) at_10 = centre;
      if (now >= 0.9) at_90 = centre;
    }
    // First-order build-up: 10 to 90 % takes 2.197 time constants, 90 % is reached after 2.303 of them.
    const double modelled = v.speech.partial_rise_periods[0] / hz / 2.303 * 2.197;
    EXPECT_NEAR(at_90 - at_10, modelled, 0.15 * modelled + 0.002) << rank;
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
