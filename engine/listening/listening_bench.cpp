// What it costs to prepare an organ for listening, and to ask what reaches the ear; ratios within one run (bench/run.sh).
#include <benchmark/benchmark.h>

#include "engine/listening/listening.hpp"
#include "engine/listening/village_test.hpp"

namespace calcant {
namespace {

// As large as a town organ: the village's ranks four times over, 68 ranks, 3800 pipes.
Organ large() {
  Organ o = village::organ();
  const std::vector<Rank> ranks = o.ranks;
  for (int i = 0; i < 3; ++i) o.ranks.insert(o.ranks.end(), ranks.begin(), ranks.end());
  return o;
}

PipeSet tutti(const Organ& o) {
  PipeSet s{std::vector<NoteSet>(o.ranks.size())};
  for (NoteSet& pipes : s.ranks)
    for (int number : {1, 8, 13, 17, 20, 25, 29}) pipes.insert(number);
  return s;
}

void prepare_village(benchmark::State& state) {
  const Organ o = village::organ();
  for (auto _ : state) benchmark::DoNotOptimize(Listening(o, usual_condition(o)).field());
}
BENCHMARK(prepare_village)->Unit(benchmark::kMillisecond);

void prepare_large(benchmark::State& state) {
  const Organ o = large();
  for (auto _ : state) benchmark::DoNotOptimize(Listening(o, usual_condition(o)).field());
}
BENCHMARK(prepare_large)->Unit(benchmark::kMillisecond);

void lines_of_a_tutti(benchmark::State& state) {
  const Organ o = village::organ();
  const Listening l(o, usual_condition(o));
  Registration open;
  open.box.fill(state.range(0) != 0 ? 1.0F : 0.4F);
  const PipeSet s = tutti(o);
  for (auto _ : state) benchmark::DoNotOptimize(l.lines(s, open));
}
BENCHMARK(lines_of_a_tutti)->Arg(1)->Arg(0)->ArgName("box_open")->Unit(benchmark::kMicrosecond);

void condensing_a_tutti(benchmark::State& state) {
  const Organ o = village::organ();
  const Listening l(o, usual_condition(o));
  Registration open;
  open.box.fill(1.0F);
  const Lines lines = l.lines(tutti(o), open);
  for (auto _ : state) benchmark::DoNotOptimize(condensed(lines, Cents{5}));
}
BENCHMARK(condensing_a_tutti)->Unit(benchmark::kMicrosecond);

}  // namespace
}  // namespace calcant
