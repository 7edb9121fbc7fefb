#include <benchmark/benchmark.h>

#include "engine/registration/map.hpp"
#include "files/organfile/organfile.hpp"
#include "files/words/words.hpp"

namespace calcant {
namespace {

// Every registration of the village organ for one chord under the hands, one and two threads.
void every_registration(benchmark::State& state) {
  const auto folder = read_organ_folder("demo/village");
  if (!folder) return state.SkipWithError("demo/village is not here");
  const Listening nave{folder->organ, usual_condition(folder->organ)};
  const std::vector<KeysDown> chords{*parse_keys(folder->organ, "Great:C4,E4,G4,C5 Swell:C3 Pedal:C2")};
  const auto space = Space::make(folder->organ, chords);
  const auto boxes = box_positions(folder->organ);
  std::size_t kept = 0;
  for (auto _ : state) {
    const auto map = Map::make(*space, nave, std::span{boxes}.first(1), Work{static_cast<int>(state.range(0))});
    if (!map) return state.SkipWithError(map.error().message.c_str());
    kept = map->size();
    benchmark::DoNotOptimize(kept);
  }
  state.counters["states_kept"] = static_cast<double>(kept);
  state.counters["states_raw"] = space->raw_states();
  state.counters["linkings"] = static_cast<double>(space->linkings().size());
  state.counters["states_per_second"] =
      benchmark::Counter(space->raw_states(), benchmark::Counter::kIsIterationInvariantRate);
}
BENCHMARK(every_registration)->Arg(1)->Arg(2)->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace
}  // namespace calcant
