#include <benchmark/benchmark.h>

#include <chrono>

#include "engine/hearing/audibility.hpp"
#include "engine/hearing/loudness.hpp"
#include "engine/hearing/screen.hpp"
#include "engine/hearing/test_sounds.hpp"

namespace calcant {
namespace {

// The unisons of a 16-stop organ in one chord, and every other one of them.
std::vector<Lines> stops(int keys, std::size_t every = 1) {
  Random random(7);
  const auto groups = organ_groups(random, keys, 48);
  std::vector<Lines> chosen;
  for (std::size_t s = 1; s < groups.size(); s += 3 * every) chosen.push_back(groups[s]);
  return chosen;
}

void full_model(benchmark::State& state, Grid grid) {
  const Ear ear({NumberSet::iso, SoundField::diffuse, Ears::both, grid});
  const Lines lines = together(stops(static_cast<int>(state.range(0)), 2));
  for (auto _ : state) benchmark::DoNotOptimize(ear.hear(lines)->loudness.sones.value());
  state.counters["lines"] = static_cast<double>(lines.size());
}
BENCHMARK_CAPTURE(full_model, fine, Grid::fine)->Arg(1)->Arg(4)->Unit(benchmark::kMicrosecond);
BENCHMARK_CAPTURE(full_model, coarse, Grid::coarse)->Arg(1)->Arg(4)->Unit(benchmark::kMicrosecond);

// All 48 groups (16 stops at three octaves) of a chord sounding, every one weighed among the rest.
void audibility_of_all(benchmark::State& state, Grid grid) {
  const Ear ear({NumberSet::iso, SoundField::diffuse, Ears::both, grid});
  Random random(7);
  const auto groups = organ_groups(random, static_cast<int>(state.range(0)), 48);
  std::vector<PartLines> parts;
  std::uint32_t next = 0;
  for (const Lines& g : groups) {
    parts.emplace_back(g.size());
    for (std::uint32_t& k : parts.back()) k = next++;
  }
  const Lines whole = together(groups);
  for (auto _ : state) benchmark::DoNotOptimize(audibility(ear, whole, parts)->parts.data());
  state.counters["lines"] = static_cast<double>(whole.size());
}
BENCHMARK_CAPTURE(audibility_of_all, fine, Grid::fine)->Arg(1)->Arg(4)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(audibility_of_all, coarse, Grid::coarse)->Arg(1)->Arg(4)->Unit(benchmark::kMillisecond);

// Each combination of 16 stops on the same chord; `times_full`: how many of these to one evaluation in full
// at 0.1 Cam.
void screen(benchmark::State& state) {
  const std::vector<Lines> all = stops(4);
  const Ear ear;
  const Screen screen = *Screen::make(ear, together(all));
  std::vector<Pattern> groups;
  for (const Lines& stop : all) groups.push_back(*screen.pattern(stop));
  const auto a = every_sum(std::span(groups).first(8));
  const auto b = every_sum(std::span(groups).subspan(8));
  std::vector<Screened> out(a.size() * b.size());
  const Lines half = together(stops(4, 2));
  using Clock = std::chrono::steady_clock;
  Clock::duration quick{};
  Clock::duration full{};
  for (auto _ : state) {
    const auto start = Clock::now();
    screen.screen_pairs(a, b, out);
    benchmark::DoNotOptimize(out.data());
    const auto then = Clock::now();
    for (int i = 0; i < 20; ++i) benchmark::DoNotOptimize(ear.hear(half)->loudness.sones.value());
    quick += then - start;
    full += Clock::now() - then;
    state.SetIterationTime(std::chrono::duration<double>(then - start).count());
  }
  const double states = static_cast<double>(out.size()) * static_cast<double>(state.iterations());
  state.counters["ns_each"] = std::chrono::duration<double, std::nano>(quick).count() / states;
  state.counters["times_full"] = (full / (20.0 * static_cast<double>(state.iterations()))) / (quick / states);
}
BENCHMARK(screen)->UseManualTime()->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace calcant
