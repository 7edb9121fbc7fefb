#include <benchmark/benchmark.h>

#include "engine/registration/screen_check.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

// No timing: the counters are the screen's error against the full model, per cent, over 10,000 random registrations.
void screen_error(benchmark::State& state, const char* demo) {
  const auto folder = read_organ_folder(demo);
  if (!folder) return state.SkipWithError("the demo organ is not here");
  ScreenCheck check;
  for (auto _ : state) {
    check = check_screen(folder->organ, 460, 25, 7);
    benchmark::DoNotOptimize(check.states);
  }
  state.counters["states"] = check.states;
  state.counters["worst_percent"] = 100 * check.worst;
  state.counters["rms_percent"] = 100 * check.rms;
  state.counters["worst_phon"] = check.worst_phons;
  state.counters["worst_brightness_percent"] = 100 * check.worst_bright;
  state.SetLabel(check.at + (check.refused.empty() ? "" : "; refused: " + check.refused));
}
BENCHMARK_CAPTURE(screen_error, chapel, "demo/chapel")->Iterations(1)->Repetitions(1)->Unit(benchmark::kSecond);
BENCHMARK_CAPTURE(screen_error, village, "demo/village")->Iterations(1)->Repetitions(1)->Unit(benchmark::kSecond);
BENCHMARK_CAPTURE(screen_error, town, "demo/town")->Iterations(1)->Repetitions(1)->Unit(benchmark::kSecond);

}  // namespace
}  // namespace calcant
