// How fast sound is made beside two general-purpose synthesis programs, in the same run, one thread each, no room.
//
// csound sums table oscillators, each with an envelope of its own: what a partial of ours is. fluidsynth plays recorded
// samples, one voice or more a note: what a pipe of ours is to the listener. Programs that are not installed are left
// out, saying so. Their time to start and load is taken away (a long run less a short one); ours counts whole.
#include <fmt/format.h>
#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <functional>
#include <string>

#include "engine/sound/many_pipes_bench.hpp"

namespace {

using namespace calcant;

constexpr int tones = 160;
constexpr int notes = 60;
constexpr double short_run = 5;
constexpr double long_run = 65;
const char* const sound_font = "/usr/share/sounds/sf2/FluidR3_GM.sf2";

double cpu() {
  double sum = 0;
  for (const int who : {RUSAGE_SELF, RUSAGE_CHILDREN}) {
    rusage u{};
    getrusage(who, &u);
    sum += static_cast<double>(u.ru_utime.tv_sec + u.ru_stime.tv_sec) +
           1e-6 * static_cast<double>(u.ru_utime.tv_usec + u.ru_stime.tv_usec);
  }
  return sum;
}

// Least CPU seconds of three tries; 0 when it failed.
double least(const std::function<bool()>& run) {
  double best = 1e9;
  for (int i = 0; i < 3; ++i) {
    const double before = cpu();
    if (!run()) return 0;
    best = std::min(best, cpu() - before);
  }
  return best;
}

bool installed(const std::string& program) {
  if (std::system(("command -v " + program + " >/dev/null 2>&1").c_str()) == 0) return true;
  fmt::print("{} is not installed: left out\n", program);
  return false;
}

void write_csound(const std::filesystem::path& path, double seconds) {
  std::ofstream f(path);
  f << "<CsoundSynthesizer>\n<CsInstruments>\nsr = 48000\nksmps = 64\nnchnls = 2\n0dbfs = 1\n"
       "gi1 ftgen 1, 0, 16384, 10, 1\n"
       "instr 1\nk1 linseg 0, p5, 0.002, p3 - p5, 0.002\na1 oscili k1, p4, 1\nouts a1, a1\nendin\n"
       "</CsInstruments>\n<CsScore>\n";
  for (int i = 0; i < tones; ++i) f << fmt::format("i1 0 {} {} {}\n", seconds, 65.4 * (i + 1), 0.02 + 0.001 * i);
  f << "</CsScore>\n</CsoundSynthesizer>\n";
}

// A standard MIDI file: `notes` keys held for so many seconds, church organ.
void write_midi(const std::filesystem::path& path, int seconds) {
  std::string track;
  const auto variable = [&track](unsigned v) {
    std::string bytes(1, static_cast<char>(v & 0x7F));
    while ((v >>= 7) != 0) bytes.insert(bytes.begin(), static_cast<char>((v & 0x7F) | 0x80));
    track += bytes;
  };
  const auto event = [&](unsigned after, int status, int a, int b) {
    variable(after);
    track += static_cast<char>(status);
    track += static_cast<char>(a);
    if (b >= 0) track += static_cast<char>(b);
  };
  event(0, 0xC0, 19, -1);
  for (int i = 0; i < notes; ++i) event(0, 0x90, 36 + i, 100);
  for (int i = 0; i < notes; ++i) event(i == 0 ? static_cast<unsigned>(960 * seconds) : 0, 0x80, 36 + i, 0);
  track += std::string("\0\xFF\x2F\0", 4);
  std::ofstream f(path, std::ios::binary);
  const auto n = static_cast<unsigned>(track.size());
  f << std::string("MThd\0\0\0\x06\0\0\0\x01\x01\xE0MTrk", 18) << static_cast<char>(n >> 24)
    << static_cast<char>(n >> 16 & 0xFF) << static_cast<char>(n >> 8 & 0xFF) << static_cast<char>(n & 0xFF) << track;
}

}  // namespace

int main() {
  const auto folder = std::filesystem::temp_directory_path() / fmt::format("calcant-sound-peers-{}", ::getpid());
  std::filesystem::create_directories(folder);
  const std::string out = (folder / "out.wav").string();
  const auto of_child = [&](const std::string& command) {
    return least([&] { return std::system((command + " >/dev/null 2>&1").c_str()) == 0; });
  };

  const ManyPipes many{200, 2.0};
  double sounding = 0;
  const double ours = least([&] { return (sounding = many.render_seconds(1, true)) > 0; });
  // Four times four seconds; what dies away is not counted.
  const double pipe_seconds = 200 * 16.0 / ours;
  const double partial_seconds = pipe_seconds * many.partials_a_pipe();
  fmt::print("{:52} {:>10} {:>10}\n", "seconds of sound a CPU second", "partials", "pipes");
  fmt::print("{:52} {:10.0f} {:10.0f}\n",
             fmt::format("Calcant, 200 pipes of {:.0f} partials, noise, dry", many.partials_a_pipe()), partial_seconds,
             pipe_seconds);
  if (installed("csound")) {
    const auto file = folder / "t.csd";
    double seconds[2];
    for (const bool longer : {false, true}) {
      write_csound(file, longer ? long_run : short_run);
      seconds[longer] = of_child(fmt::format("csound -d -m0 -W -o {} {}", out, file.string()));
    }
    const double oscillators = tones * (long_run - short_run) / (seconds[1] - seconds[0]);
    fmt::print("{:52} {:10.0f}\n", fmt::format("csound, {} table oscillators with envelopes", tones), oscillators);
    fmt::print("  Calcant's partials to csound's oscillators: {:.1f} to 1\n", partial_seconds / oscillators);
  }
  if (installed("fluidsynth") && std::filesystem::exists(sound_font)) {
    const auto file = folder / "t.mid";
    double seconds[2];
    for (const bool longer : {false, true}) {
      write_midi(file, static_cast<int>(longer ? long_run : short_run));
      seconds[longer] =
          of_child(fmt::format("fluidsynth -ni -g 0.2 -R 0 -C 0 -r 48000 -F {} {} {}", out, sound_font, file.string()));
    }
    const double held = notes * (long_run - short_run) / (seconds[1] - seconds[0]);
    fmt::print("{:52} {:>10} {:10.0f}\n", fmt::format("fluidsynth, {} notes of recorded church organ", notes), "",
               held);
    fmt::print("  Calcant's pipes to fluidsynth's notes: {:.2f} to 1\n", pipe_seconds / held);
  }
  std::filesystem::remove_all(folder);
  return 0;
}
