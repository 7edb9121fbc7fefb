// How long the feet of a long work take: 300 bars of running eighths, and of walking quarters.
#include <benchmark/benchmark.h>

#include "engine/playing/by_hand_test.hpp"
#include "engine/playing/feet.hpp"
#include "engine/quantity/random.hpp"

namespace calcant {
namespace {

Score long_bass(int notes, Rational length) {
  Random random(1);
  std::vector<int> midi{48};
  for (int i = 1; i < notes; ++i) {
    const int next = midi.back() + random.below(9) - 4;
    midi.push_back(next < 36 ? 40 : next > 65 ? 60 : next);
  }
  return by_hand::score(by_hand::line(midi, length), {Role::feet});
}

void feet_of_300_bars(benchmark::State& state) {
  const int a_bar = static_cast<int>(state.range(0));
  const Score s = long_bass(300 * a_bar, Rational{4, a_bar});
  const Tempo tempo(s, 72);
  for (auto _ : state) benchmark::DoNotOptimize(solve_feet(s, Organ{}, default_player(), tempo));
}
BENCHMARK(feet_of_300_bars)->Arg(1)->Arg(4)->Arg(8)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace calcant
