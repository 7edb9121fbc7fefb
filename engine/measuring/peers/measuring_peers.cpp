// Accuracy and speed beside general-purpose pitch programs, on the same invented audio in the same run.
//
// aubio's aubiopitch is used as a separate program where it is installed and left out, saying so, where it is not. It
// gives frames, not answers for a note: the fair comparison is the median of its frames over the stretch we listen to.
#include <fmt/format.h>
#include <sys/resource.h>
#include <unistd.h>

#include <chrono>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <thread>
#include <vector>

#include "engine/measuring/measure.hpp"
#include "engine/measuring/statistics.hpp"
#include "engine/measuring/testing/invented_run.hpp"

namespace {

using namespace calcant;

constexpr int rate = 48000;

// 16-bit WAV, one channel, written by hand: the engine knows no file format.
void write_wav(const std::filesystem::path& path, const std::vector<float>& x) {
  std::string b;
  const auto put = [&b](std::uint32_t v, int bytes) {
    for (int i = 0; i < bytes; ++i) b += static_cast<char>(v >> (8 * i) & 0xFF);
  };
  const auto size = static_cast<std::uint32_t>(2 * x.size());
  b += "RIFF";
  put(36 + size, 4);
  b += "WAVEfmt ";
  put(16, 4);
  put(1, 2);
  put(1, 2);
  put(rate, 4);
  put(2 * rate, 4);
  put(2, 2);
  put(16, 2);
  b += "data";
  put(size, 4);
  for (const float v : x)
    put(static_cast<std::uint16_t>(std::lround(32767.0F * std::min(1.0F, std::max(-1.0F, v)))), 2);
  std::ofstream(path, std::ios::binary) << b;
}

struct Clock {
  double wall = 0.0;
  double cpu = 0.0;
};
Clock now() {
  Clock c;
  c.wall = std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
  for (const int who : {RUSAGE_SELF, RUSAGE_CHILDREN}) {
    rusage u{};
    getrusage(who, &u);
    c.cpu += static_cast<double>(u.ru_utime.tv_sec + u.ru_stime.tv_sec) +
             1e-6 * static_cast<double>(u.ru_utime.tv_usec + u.ru_stime.tv_usec);
  }
  return c;
}

// Frames (time, hertz) of one method.
std::vector<std::pair<double, double>> peer(const std::filesystem::path& wav, const std::string& method, int buffer,
                                            int hop) {
  std::vector<std::pair<double, double>> frames;
  const std::string command =
      fmt::format("aubiopitch -r 0 -p {} -B {} -H {} -i '{}' 2>/dev/null", method, buffer, hop, wav.string());
  FILE* pipe = popen(command.c_str(), "r");
  if (pipe == nullptr) return frames;
  double t = 0.0;
  double f = 0.0;
  while (fscanf(pipe, "%lf %lf", &t, &f) == 2) frames.emplace_back(t, f);
  pclose(pipe);
  return frames;
}

struct Method {
  const char* name;
  int buffer;
  int hop;
};

std::string cents(double error) {
  return std::fabs(error) > 50.0 ? std::string("   gross") : fmt::format("{:+8.4f}", error);
}

}  // namespace

int main() {
  const auto folder = std::filesystem::temp_directory_path() / fmt::format("calcant-peers-{}", ::getpid());
  std::filesystem::create_directories(folder);
  const auto wav = folder / "sound.wav";
  const bool have_peer = std::system("command -v aubiopitch >/dev/null 2>&1") == 0;
  if (!have_peer) fmt::print("aubiopitch is not installed: Calcant's own figures only\n");
  const std::vector<Method> methods{
      {"fcomb", 8192, 2048}, {"mcomb", 4096, 1024}, {"yin", 4096, 1024}, {"yinfft", 4096, 1024}};
  const auto response = invented::church(rate);
  if (response.empty()) fmt::print("../shared/rooms is not here: the church is left out\n");

  fmt::print(
      "Error in cents against the mean pitch of the stretch listened to; ± is Calcant's own 95 % half width for the "
      "pipe.\n");
  fmt::print("{:28} {:>8} {:>8} {:>7}", "case (principal, 4 s)", "Hz", "Calcant", "±");
  for (const auto& m : methods) fmt::print(" {:>8}", m.name);
  fmt::print("\n");
  struct Kind {
    const char* name;
    double white, brown, wander;
    bool room;
  };
  std::uint64_t seed = 40;
  for (const Kind& kind :
       {Kind{"dry, white noise -20 dB", -20, -200, 0, false}, Kind{"dry, brown noise -15 dB", -200, -15, 0, false},
        Kind{"church, brown noise -15 dB", -200, -15, 0, true}, Kind{"wind wandering 1 cent", -40, -200, 1, false}}) {
    if (kind.room && response.empty()) continue;
    for (const double f : {32.7, 65.4, 130.8, 261.6, 1046.5, 4186.0}) {
      invented::Pipe p;
      p.hertz = f * std::exp2(7.0 / 1200.0);
      p.harmonics_db = invented::principal_db;
      p.on = 1.0;
      p.off = 5.0;
      p.wander_cents = kind.wander;
      std::vector<float> sound(6 * rate, 0.0F);
      const auto course = invented::add(sound, rate, p, ++seed);
      if (kind.room) sound = invented::in_room(sound, response);
      if (kind.white > -150) invented::add_white(sound, p.level_db + kind.white, seed);
      if (kind.brown > -150) invented::add_brown(sound, rate, p.level_db + kind.brown, seed);
      const RunPlan plan{{{Note{60}, {Hertz{f}}}}};
      const auto run = measure_run(recording_of(sound, rate), plan);
      double from = 2.0;
      double to = 4.8;
      fmt::print("{:28} {:8.1f}", kind.name, f);
      if (run && run->notes[0].pitch) {
        const Pitch& got = *run->notes[0].pitch;
        from = got.from.value();
        to = from + got.stretch.value();
        const double truth = p.hertz * std::exp2(invented::mean_cents(course, from - p.on, to - p.on) / 1200.0);
        fmt::print(" {} {:7.3f}", cents(1200.0 * std::log2(got.hertz.value() / truth)), got.half_width_95.value());
      } else {
        fmt::print(" {:>8} {:>7}", "none", "");
      }
      const double truth = p.hertz * std::exp2(invented::mean_cents(course, from - p.on, to - p.on) / 1200.0);
      if (have_peer) {
        write_wav(wav, sound);
        for (const auto& m : methods) {
          std::vector<double> inside;
          for (const auto& [t, hz] : peer(wav, m.name, m.buffer, m.hop))
            if (t >= from && t <= to && hz > 0.0) inside.push_back(hz);
          fmt::print(" {}", inside.empty() ? "    none" : cents(1200.0 * std::log2(measuring::median(inside) / truth)));
        }
      }
      fmt::print("\n");
    }
  }

  // Speed, over a whole run.
  invented::RunRecipe recipe;
  recipe.rate = rate;
  recipe.seconds_on = 4.0;
  recipe.seconds_off = 2.0;
  const auto r = invented::run(recipe, 3);
  RunPlan plan;
  for (const auto& k : r.keys) plan.keys.push_back({Note{k.midi}, {Hertz{k.expected}}});
  const double seconds = static_cast<double>(r.sound.size()) / rate;
  fmt::print("\nSpeed over a run of {:.0f} s, mono, 48 kHz (times real time, best of 3; wall | per core used)\n",
             seconds);
  for (const int threads : {1, 2}) {
    Clock best{1e9, 1e9};
    for (int n = 0; n < 3; ++n) {
      const Clock a = now();
      const auto m = measure_run(recording_of(r.sound, rate), plan, {}, Work{.threads = threads});
      const Clock b = now();
      if (!m) return 1;
      best = {std::min(best.wall, b.wall - a.wall), std::min(best.cpu, b.cpu - a.cpu)};
    }
    fmt::print("  Calcant, whole measurement, {} thread{}: {:6.0f} | {:6.0f}\n", threads, threads > 1 ? "s" : " ",
               seconds / best.wall, seconds / best.cpu);
  }
  if (have_peer) {
    write_wav(wav, r.sound);
    Clock best{1e9, 1e9};
    for (int n = 0; n < 3; ++n) {
      const Clock a = now();
      const auto frames = peer(wav, "fcomb", 8192, 2048);
      const Clock b = now();
      best = {std::min(best.wall, b.wall - a.wall), std::min(best.cpu, b.cpu - a.cpu)};
      if (frames.empty()) return 1;
    }
    fmt::print("  aubio fcomb 8192, pitch frames only:      {:6.0f} | {:6.0f}\n", seconds / best.wall,
               seconds / best.cpu);
  }
  std::filesystem::remove_all(folder);
  return 0;
}
