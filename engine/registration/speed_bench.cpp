// How fast every registration is weighed, searched and sifted. Times on a shared machine mean little by themselves: each
// also says how many full models at 0.1 Cam (one chord of four keys, twelve stops) fit into it, timed in the same run.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <memory>

#include "engine/registration/choose.hpp"
#include "engine/registration/peak_memory_bench.hpp"
#include "files/organfile/organfile.hpp"
#include "files/words/words.hpp"

namespace calcant {
namespace {

using Clock = std::chrono::steady_clock;

double seconds_since(Clock::time_point start) { return std::chrono::duration<double>(Clock::now() - start).count(); }

struct Church {
  explicit Church(Organ o) : organ(std::move(o)), nave(organ, usual_condition(organ)) {}
  Organ organ;
  Listening nave;
};
const Church* village() {
  static const auto folder = read_organ_folder("demo/village");
  static const auto church = folder ? std::make_unique<Church>(folder->organ) : nullptr;
  return church.get();
}
const Church* town() {
  static const auto folder = read_organ_folder("demo/town");
  static const auto church = folder ? std::make_unique<Church>(folder->organ) : nullptr;
  return church.get();
}
// The village organ less one stop, with octave and sub-octave couplers on its Great as well: 16 stops, 8 couplers.
const Church* sixteen_and_eight() {
  static const std::unique_ptr<Church> church = [] {
    if (village() == nullptr) return std::unique_ptr<Church>{};
    Organ o = village()->organ;
    o.stops.pop_back();
    o.accessories.clear();
    for (const int semitones : {12, -12}) {
      Coupler c;
      c.id = semitones > 0 ? "gt-oct" : "gt-sub";
      c.name = semitones > 0 ? "Great Octave" : "Great Sub-Octave";
      c.semitones = semitones;
      o.couplers.push_back(c);
    }
    return std::make_unique<Church>(std::move(o));
  }();
  return church.get();
}

constexpr const char* every_keyboard = "Great:C4,E4,G4,C5 Swell:C3 Pedal:C2";

// One evaluation in full at 0.1 Cam of what a player may draw: principals and flutes of the Great, the full Swell.
double full_model_seconds() {
  static const double once = [] {
    const Church& at = *village();
    const Ear fine;
    const auto keys = *parse_keys(at.organ, every_keyboard);
    Registration drawn;
    for (std::size_t s = 0; s < std::min<std::size_t>(12, at.organ.stops.size()); ++s) drawn.stops.set(s);
    Sounding question{at.organ};
    PipeSet pipes;
    question.pipes(drawn, keys, pipes);
    const Lines lines = at.nave.lines(pipes, drawn);
    double best = 1e9;
    for (int i = 0; i < 30; ++i) {
      const auto start = Clock::now();
      benchmark::DoNotOptimize(fine.hear(lines)->loudness.sones.value());
      best = std::min(best, seconds_since(start));
    }
    return best;
  }();
  return once;
}

void say_ratio(benchmark::State& state, Clock::time_point start) {
  state.counters["full_models"] = seconds_since(start) / static_cast<double>(state.iterations()) / full_model_seconds();
}

// The screen at 0.25 Cam against the full model at 0.1: how many of the first fit into one of the second. The same
// chord, the same organ, one thread, alternately.
void screen_against_full(benchmark::State& state) {
  const Church* at = village();
  if (at == nullptr) return state.SkipWithError("demo/village is not here");
  const std::vector<KeysDown> chords{*parse_keys(at->organ, every_keyboard)};
  const auto space = Space::make(at->organ, chords);
  auto patterns = Patterns::make(*space, at->nave, 0);
  const auto groups = patterns->groups(space->linkings().size() - 1, BoxPositions{});
  std::vector<Pattern> rows(64);
  for (std::size_t m = 0; m < rows.size(); ++m) {
    for (std::size_t g = 0; g < groups->size(); ++g) {
      if (((m * 2654435761U) >> (g % 24) & 1) != 0) rows[m] += *(*groups)[g];
    }
  }
  const std::span<const Pattern> all{rows};
  std::vector<Screened> out(32 * 32);
  double quick = 1e9;
  for (auto _ : state) {
    const auto start = Clock::now();
    for (int i = 0; i < 16; ++i) patterns->screen().screen_pairs(all.first(32), all.last(32), out);
    benchmark::DoNotOptimize(out.data());
    quick = std::min(quick, seconds_since(start) / (16.0 * static_cast<double>(out.size())));
  }
  state.counters["screen_ns"] = 1e9 * quick;
  state.counters["full_us"] = 1e6 * full_model_seconds();
  state.counters["times_faster"] = full_model_seconds() / quick;
}
BENCHMARK(screen_against_full)->Unit(benchmark::kMillisecond)->UseRealTime();

// All states of 16 stops with 8 couplers, keys on every keyboard. `peak_megabytes`: of the whole process meanwhile.
void every_registration(benchmark::State& state) {
  const Church* at = sixteen_and_eight();
  if (at == nullptr) return state.SkipWithError("demo/village is not here");
  const std::vector<KeysDown> chords{*parse_keys(at->organ, every_keyboard)};
  const auto boxes = box_positions(at->organ);
  full_model_seconds();
  std::size_t kept = 0;
  std::size_t linkings = 0;
  forget_peak_memory();
  const auto start = Clock::now();
  for (auto _ : state) {
    const auto space = Space::make(at->organ, chords);
    const auto map = Map::make(*space, at->nave, std::span{boxes}.first(1), Work{static_cast<int>(state.range(0))});
    if (!map) return state.SkipWithError(map.error().message.c_str());
    kept = map->size();
    linkings = space->linkings().size();
  }
  say_ratio(state, start);
  const double raw = std::exp2(static_cast<double>(at->organ.stops.size() + at->organ.couplers.size()));
  state.counters["states"] = raw;
  state.counters["linkings"] = static_cast<double>(linkings);
  state.counters["states_kept"] = static_cast<double>(kept);
  state.counters["peak_megabytes"] = peak_megabytes();
}
BENCHMARK(every_registration)
    ->Arg(1)
    ->Arg(2)
    ->Iterations(1)
    ->Repetitions(2)
    ->Unit(benchmark::kMillisecond)
    ->MeasureProcessCPUTime()
    ->UseRealTime();

// Half a million: 16 stops and 3 couplers, one chord.
void half_a_million(benchmark::State& state) {
  const Church* at = sixteen_and_eight();
  if (at == nullptr) return state.SkipWithError("demo/village is not here");
  const std::vector<KeysDown> chords{*parse_keys(at->organ, every_keyboard)};
  const auto boxes = box_positions(at->organ);
  Registration forbidden;
  for (std::size_t c = 0; c < at->organ.couplers.size(); ++c) forbidden.couplers.set(c);
  for (const char* id : {"sw-gt", "gt-pd", "sw-oct"})
    forbidden.couplers.reset(static_cast<std::size_t>(*coupler_by_id(at->organ, id)));
  full_model_seconds();
  double states = 0;
  const auto start = Clock::now();
  for (auto _ : state) {
    const auto space = Space::make(at->organ, chords, forbidden);
    const auto map = Map::make(*space, at->nave, std::span{boxes}.first(1), Work{static_cast<int>(state.range(0))});
    if (!map) return state.SkipWithError(map.error().message.c_str());
    states = space->raw_states();
    benchmark::DoNotOptimize(map->size());
  }
  say_ratio(state, start);
  state.counters["states"] = states;
}
BENCHMARK(half_a_million)->Arg(1)->Arg(2)->Unit(benchmark::kMillisecond)->MeasureProcessCPUTime()->UseRealTime();

// The large organ: one wish answered by search, the keyboard made ready beforehand (`ready_ms`, once). The wish asks for
// another level every time, so that nothing is known from before.
void search_of_a_large_organ(benchmark::State& state) {
  const Church* at = town();
  if (at == nullptr || village() == nullptr) return state.SkipWithError("the demo organs are not here");
  const Work work{static_cast<int>(state.range(0))};
  full_model_seconds();
  const auto before = Clock::now();
  auto chooser = Chooser::prepare(at->nave, 0, {}, {}, work);
  if (!chooser) return state.SkipWithError(chooser.error().message.c_str());
  state.counters["ready_ms"] = 1e3 * seconds_since(before);
  state.counters["stops"] = static_cast<double>(chooser->space().stops().size());
  state.counters["states"] = chooser->space().raw_states();
  double phons = 76;
  const auto start = Clock::now();
  for (auto _ : state) {
    Wish wish;
    wish.level = Phons{phons};
    wish.colour = Colour::brighter;
    phons = phons > 92 ? 76.3 : phons + 2.7;
    const auto choice = chooser->ask(wish, work);
    if (!choice) return state.SkipWithError(choice.error().message.c_str());
    benchmark::DoNotOptimize(choice->answers.size());
  }
  say_ratio(state, start);
}
BENCHMARK(search_of_a_large_organ)
    ->Arg(1)
    ->Arg(2)
    ->Iterations(3)
    ->Unit(benchmark::kMillisecond)
    ->MeasureProcessCPUTime()
    ->UseRealTime();

// Every registration of the village organ that is at a level, bright enough, with little wind: of a map already built.
void filter_over_a_map(benchmark::State& state) {
  const Church* at = sixteen_and_eight();
  if (at == nullptr) return state.SkipWithError("demo/village is not here");
  const std::vector<KeysDown> chords{*parse_keys(at->organ, every_keyboard)};
  const auto boxes = box_positions(at->organ);
  static const auto space = Space::make(at->organ, chords);
  static const auto map = Map::make(*space, at->nave, std::span{boxes}.first(1), Work{2});
  if (!map) return state.SkipWithError(map.error().message.c_str());
  std::size_t found = 0;
  full_model_seconds();
  const auto start = Clock::now();
  for (auto _ : state) {
    found = 0;
    map->for_each([&](const MapState& s) {
      found += s.figures.phons > 85 && s.figures.phons < 87 && s.figures.acums > 1.1F && s.wind < 40 ? 1 : 0;
    });
    benchmark::DoNotOptimize(found);
  }
  say_ratio(state, start);
  state.counters["states_kept"] = static_cast<double>(map->size());
  state.counters["found"] = static_cast<double>(found);
}
BENCHMARK(filter_over_a_map)->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace
}  // namespace calcant
