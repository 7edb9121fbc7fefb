// Reading a score of the size of a trio sonata movement (155 bars, 3000 notes, 411 kB) or what stands in for it.
#include <benchmark/benchmark.h>
#include <fmt/format.h>

#include <fstream>
#include <iterator>
#include <string>

#include "files/musicxml/marked.hpp"
#include "files/musicxml/musicxml.hpp"

namespace {

// The real movement where ../shared is, else 300 bars of sixteenths on three staves made up here.
const std::string& score() {
  static const std::string text = [] {
    std::ifstream in("../shared/scores/bach-bwv529-1.musicxml", std::ios::binary);
    std::string bytes{std::istreambuf_iterator<char>(in), {}};
    if (!bytes.empty()) return bytes;
    std::string part;
    for (int bar = 1; bar <= 300; ++bar) {
      part += fmt::format("<measure number=\"{}\"><attributes><divisions>4</divisions></attributes>", bar);
      for (int i = 0; i < 16; ++i) {
        part +=
            "<note><pitch><step>C</step><octave>4</octave></pitch><duration>1</duration><voice>1</voice>"
            "<type>16th</type></note>\n";
      }
      part += "</measure>";
    }
    return fmt::format("<score-partwise version=\"4.0\"><part-list/><part id=\"P1\">{}</part></score-partwise>", part);
  }();
  return text;
}

void read(benchmark::State& state) {
  for (auto _ : state) {
    auto s = calcant::read_musicxml(score(), "bench");
    benchmark::DoNotOptimize(s);
  }
  state.SetBytesProcessed(static_cast<std::int64_t>(state.iterations() * score().size()));
}
BENCHMARK(read)->Unit(benchmark::kMillisecond);

void press(benchmark::State& state) {
  const auto s = calcant::read_musicxml(score(), "bench");
  for (auto _ : state) {
    auto p = calcant::presses(*s);
    benchmark::DoNotOptimize(p);
  }
}
BENCHMARK(press)->Unit(benchmark::kMillisecond);

void mark(benchmark::State& state) {
  for (auto _ : state) {
    auto m = calcant::musicxml::write_marked(score(), {});
    benchmark::DoNotOptimize(m);
  }
}
BENCHMARK(mark)->Unit(benchmark::kMillisecond);

}  // namespace
