// Reading a long work from a MIDI file: 300 bars of sixteenths, eighths and quarters on three tracks, 8400 notes; and the
// same with its releases off the grid, so that every note is moved.
#include <benchmark/benchmark.h>

#include <string>

#include "files/midi/midi.hpp"

namespace calcant {
namespace {

std::string big(std::size_t v, int size) {
  std::string s;
  for (int i = size - 1; i >= 0; --i) s += static_cast<char>(v >> (8 * i) & 0xFF);
  return s;
}

// 480 ticks a quarter; times as two bytes.
std::string track(int notes_a_bar, int channel, int low, int early) {
  const int length = 1920 / notes_a_bar;
  const auto time = [](int t) { return std::string{static_cast<char>(0x80 | t >> 7), static_cast<char>(t & 0x7F)}; };
  std::string events;
  int wait = 0;
  for (int i = 0; i < 300 * notes_a_bar; ++i) {
    const char key = static_cast<char>(low + i * 5 % 12);
    events += time(wait) + static_cast<char>(0x90 | channel) + key + '\x40';
    events += time(length - early) + static_cast<char>(0x80 | channel) + key + '\x40';
    wait = early;
  }
  events += std::string("\0\xFF\x2F\0", 4);
  return "MTrk" + big(events.size(), 4) + events;
}

std::string long_work(int early) {
  return "MThd" + big(6, 4) + big(1, 2) + big(3, 2) + big(480, 2) + track(16, 0, 72, early) + track(8, 1, 55, early) +
         track(4, 2, 38, early);
}

void read_300_bars(benchmark::State& state) {
  const std::string file = long_work(static_cast<int>(state.range(0)));
  std::size_t notes = 0;
  for (auto _ : state) {
    const auto s = read_midi(file, "bench");
    if (!s) {
      state.SkipWithError(s.error().message.c_str());
      return;
    }
    notes = s->notes.size();
  }
  state.counters["notes"] = static_cast<double>(notes);
}
BENCHMARK(read_300_bars)->ArgName("ticks_early")->Arg(0)->Arg(3)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace calcant
