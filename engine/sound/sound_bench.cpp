// How fast sound is made. The first is a tone by the C library's sine, sample by sample: every other figure stands beside
// it. Beside other programs: peers/sound_peers.cpp.
#include <benchmark/benchmark.h>

#include <array>
#include <cmath>
#include <numbers>

#include "engine/sound/convolver.hpp"
#include "engine/sound/many_pipes_bench.hpp"
#include "engine/sound/pipe_synth.hpp"

namespace calcant {
namespace {

void one_second_by_the_librarys_sine(benchmark::State& state) {
  std::vector<float> out(48000);
  for (auto _ : state) {
    for (std::size_t i = 0; i < out.size(); ++i) {
      out[i] =
          std::sin(static_cast<float>(2 * std::numbers::pi * std::fmod(440.0 / 48000 * static_cast<double>(i), 1.0)));
    }
    benchmark::DoNotOptimize(out.data());
  }
}
BENCHMARK(one_second_by_the_librarys_sine)->Unit(benchmark::kMicrosecond);

// Amplitudes moving (1) or steady (0).
void one_second_of_64_partials(benchmark::State& state) {
  PartialBank bank;
  std::array<float, 64> from{};
  std::array<float, 64> to{};
  for (std::size_t i = 0; i < 64; ++i) {
    bank.add(0.1 * static_cast<double>(i), 65.4 * static_cast<double>(i + 1) / 48000);
    from[i] = to[i] = 0.01F;
    if (state.range(0) == 1) to[i] = 0.02F;
  }
  std::array<float, PartialBank::piece> out{};
  for (auto _ : state) {
    for (int i = 0; i < 48000 / PartialBank::piece; ++i) {
      bank.sum(from.data(), to.data(), out.data());
      benchmark::DoNotOptimize(out.data());
    }
  }
}
BENCHMARK(one_second_of_64_partials)->Arg(0)->Arg(1)->Unit(benchmark::kMicrosecond);

void room_of_4_s(benchmark::State& state) {
  const Field field = field_of(4.0);
  ResponseRequest request;
  request.distance = Metres{12};
  for (auto _ : state) {
    ++request.seed;
    benchmark::DoNotOptimize(synthesise_response(field, request));
  }
}
BENCHMARK(room_of_4_s)->Unit(benchmark::kMillisecond);

void noise_tables(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(NoiseTables{1});
}
BENCHMARK(noise_tables)->Unit(benchmark::kMillisecond);

// Three buses through a room of 4 s, one second.
void one_second_through_the_room(benchmark::State& state) {
  std::vector<StereoResponse> responses(3);
  const Field field = field_of(4.0);
  for (auto& r : responses) r = synthesise_response(field, {});
  constexpr int block = 16384;
  Convolver room{responses, block};
  const std::vector<std::vector<float>> buses(3, std::vector<float>(block, 0.1F));
  std::vector<float> left(block);
  std::vector<float> right(block);
  double seconds = 0;
  for (auto _ : state) {
    room.process(buses, left, right);
    seconds += block / 48000.0;
  }
  state.counters["times real time"] = benchmark::Counter(seconds, benchmark::Counter::kIsRate);
}
BENCHMARK(one_second_through_the_room)->Unit(benchmark::kMillisecond);

// 200 pipes of 16 partials and more in a room of 4 s: 20 s of music in which they come and go, the room made as well.
void twenty_seconds_of_200_pipes(benchmark::State& state) {
  const ManyPipes many{200, 4.0};
  double seconds = 0;
  for (auto _ : state) seconds += many.render_seconds(static_cast<int>(state.range(0)), false);
  state.counters["partials a pipe"] = many.partials_a_pipe();
  state.counters["times real time"] = benchmark::Counter(seconds, benchmark::Counter::kIsRate);
}
BENCHMARK(twenty_seconds_of_200_pipes)->Arg(1)->Arg(2)->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace
}  // namespace calcant
