// Reading a long organ work: 300 bars of sixteenths, eighths and quarters on three staves, 8400 notes, beside what the XML
// alone costs; marking it; and a real trio sonata movement (155 bars, 3000 notes, 411 kB) where ../shared is.
#include <benchmark/benchmark.h>
#include <fmt/format.h>

#include <fstream>
#include <iterator>
#include <string>

#include "files/musicxml/document.hpp"
#include "files/musicxml/marked.hpp"
#include "files/musicxml/musicxml.hpp"

namespace calcant {
namespace {

std::string voice_of_bar(int stave, int notes, int seed) {
  std::string out;
  for (int i = 0; i < notes; ++i) {
    out += fmt::format(
        "<note><pitch><step>{}</step><octave>{}</octave></pitch><duration>{}</duration><voice>{}</voice><type>{}</type>"
        "<staff>{}</staff></note>\n",
        "CDEFGAB"[(i * 3 + seed) % 7], 5 - stave, 16 / notes, stave,
        notes == 16  ? "16th"
        : notes == 8 ? "eighth"
                     : "quarter",
        stave);
  }
  return out;
}

const std::string& long_work() {
  static const std::string text = [] {
    std::string part;
    for (int bar = 1; bar <= 300; ++bar) {
      part += fmt::format("<measure number=\"{}\">", bar);
      if (bar == 1) part += "<attributes><divisions>4</divisions><staves>3</staves></attributes>";
      const std::string back = "<backup><duration>16</duration></backup>";
      part += voice_of_bar(1, 16, bar) + back + voice_of_bar(2, 8, bar) + back + voice_of_bar(3, 4, bar) + "</measure>";
    }
    return fmt::format("<score-partwise version=\"4.0\"><part-list/><part id=\"P1\">{}</part></score-partwise>", part);
  }();
  return text;
}

const std::string& movement() {
  static const std::string text = [] {
    std::ifstream in("../shared/scores/bach-bwv529-1.musicxml", std::ios::binary);
    return std::string{std::istreambuf_iterator<char>(in), {}};
  }();
  return text;
}

// The first: what the others are compared with.
void xml_alone_of_300_bars(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(musicxml::Document::load(long_work(), "bench"));
}
BENCHMARK(xml_alone_of_300_bars)->Unit(benchmark::kMillisecond);

void read_300_bars(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(read_musicxml(long_work(), "bench"));
  state.counters["kB"] = static_cast<double>(long_work().size()) / 1000;
}
BENCHMARK(read_300_bars)->Unit(benchmark::kMillisecond);

void press_300_bars(benchmark::State& state) {
  const auto s = read_musicxml(long_work(), "bench");
  for (auto _ : state) benchmark::DoNotOptimize(presses(*s));
}
BENCHMARK(press_300_bars)->Unit(benchmark::kMillisecond);

void mark_300_bars(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(musicxml::write_marked(long_work(), {}));
}
BENCHMARK(mark_300_bars)->Unit(benchmark::kMillisecond);

void read_a_trio_sonata_movement(benchmark::State& state) {
  if (movement().empty()) {
    state.SkipWithError("../shared is not here");
    return;
  }
  for (auto _ : state) benchmark::DoNotOptimize(read_musicxml(movement(), "bench"));
}
BENCHMARK(read_a_trio_sonata_movement)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace calcant
