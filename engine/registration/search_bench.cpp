#include <benchmark/benchmark.h>

#include "engine/registration/search_check.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

// No timing: the counters are how far the search stays behind a whole map on 200 organs of 16 stops cut from the town's,
// in points of the objective (docs/design/choosing.md).
void search_gap(benchmark::State& state) {
  const auto folder = read_organ_folder("demo/town");
  if (!folder) return state.SkipWithError("demo/town is not here");
  SearchCheck check;
  for (auto _ : state) {
    check = check_search(folder->organ, static_cast<int>(state.range(0)), 6, 5);
    benchmark::DoNotOptimize(check.organs);
  }
  state.counters["organs"] = check.organs;
  state.counters["wishes"] = check.wishes;
  state.counters["missed"] = check.missed;
  state.counters["as_good"] = check.as_good;
  state.counters["ahead"] = check.ahead;
  state.counters["mean_points_behind"] = check.mean;
  state.counters["worst_points_behind"] = check.worst;
  state.counters["worst_phons_behind"] = check.worst_phons;
  state.counters["worst_share_behind"] = check.worst_share;
  state.counters["better_than_the_bound"] = check.over_bound;
  state.counters["mean_points_over_the_bound"] = check.slack;
  state.SetLabel(check.at);
}
BENCHMARK(search_gap)->Arg(200)->Iterations(1)->Repetitions(1)->Unit(benchmark::kSecond);
BENCHMARK(search_gap)->Name("search_gap_sample")->Arg(40)->Iterations(1)->Repetitions(1)->Unit(benchmark::kSecond);

}  // namespace
}  // namespace calcant
