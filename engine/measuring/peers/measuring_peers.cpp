// Accuracy and speed beside general-purpose pitch programs, on the same invented audio in the same run. "speed" as first
// word leaves the accuracy out.
//
// aubio's aubiopitch and Praat are used as separate programs where they are installed and left out, saying so, where they
// are not. They give frames, not answers for a note: the fair comparison is the median of their frames over the stretch we
// listen to.
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
#include "engine/measuring/testing/recorded.hpp"

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

// The same of Praat (autocorrelation, its own settings but for the range of 15 to 8500 Hz).
std::vector<std::pair<double, double>> praat(const std::filesystem::path& wav) {
  std::vector<std::pair<double, double>> frames;
  const auto script = wav.parent_path() / "pitch.praat";
  std::ofstream(script) << "form Pitch\n sentence File\nendform\nRead from file: file$\n"
                           "To Pitch (ac): 0, 15, 15, \"yes\", 0.03, 0.45, 0.01, 0.35, 0.14, 8500\n"
                           "n = Get number of frames\nfor i to n\n t = Get time from frame number: i\n"
                           " f = Get value in frame: i, \"Hertz\"\n if f <> undefined\n"
                           "  appendFile: file$ + \".txt\", t, \" \", f, newline$\n endif\nendfor\n";
  const auto out = wav.string() + ".txt";
  std::filesystem::remove(out);
  const std::string command = fmt::format("praat --run '{}' '{}' >/dev/null 2>&1", script.string(), wav.string());
  if (std::system(command.c_str()) != 0) return frames;
  std::ifstream in(out);
  double t = 0.0;
  double f = 0.0;
  while (in >> t >> f) frames.emplace_back(t, f);
  return frames;
}

struct Method {
  const char* name;
  int buffer;
  int hop;
};

using Frames = std::vector<std::pair<double, double>>;

double middle(const Frames& frames, double from, double to) {
  std::vector<double> inside;
  for (const auto& [t, hz] : frames)
    if (t >= from && t <= to && hz > 0.0) inside.push_back(hz);
  return inside.empty() ? NAN : measuring::median(inside);
}

// Recorded instruments and the same raised by a known amount: the worst error of the difference, in cents.
void tell_recorded(const std::filesystem::path& wav, const std::vector<Method>& methods, bool have_praat) {
  constexpr double by = 3.7;
  fmt::print(
      "\nRecorded (fluid-soundfont-gm), raised by {} cents: worst and middle error of the difference, notes found\n",
      by);
  for (const auto& instrument : recorded::instruments()) {
    const auto sound = recorded::played(instrument, rate);
    if (sound.empty()) {
      fmt::print("fluidsynth or fluid-soundfont-gm is not installed: left out\n");
      return;
    }
    const std::vector<std::vector<float>> both{sound, recorded::raised(sound, by)};
    RunPlan plan;
    for (const int key : instrument.keys)
      plan.keys.push_back({Note{key}, {Hertz{440.0 * std::exp2((key - 69) / 12.0)}}});
    std::vector<MeasuredRun> runs;
    std::vector<std::vector<Frames>> heard(methods.size() + (have_praat ? 1 : 0));
    for (const auto& x : both) {
      auto m = measure_run(recording_of(x, rate), plan);
      if (!m) return;
      runs.push_back(std::move(*m));
      write_wav(wav, x);
      for (std::size_t i = 0; i < methods.size(); ++i)
        heard[i].push_back(peer(wav, methods[i].name, methods[i].buffer, methods[i].hop));
      if (have_praat) heard.back().push_back(praat(wav));
    }
    const auto line = [&](const std::string& name, const auto& pitch) {
      std::vector<double> errors;
      for (std::size_t n = 0; n < plan.keys.size(); ++n) {
        const double e = 1200.0 * std::log2(pitch(1, n) / pitch(0, n)) - by;
        if (std::isfinite(e)) errors.push_back(std::fabs(e));
      }
      if (errors.empty()) return;
      fmt::print("  {:28} {:8} worst {:8.4f} middle {:8.4f}  {} of {}\n", instrument.name, name,
                 *std::max_element(errors.begin(), errors.end()), measuring::median(errors), errors.size(),
                 plan.keys.size());
    };
    line("Calcant", [&](std::size_t r, std::size_t n) {
      const MeasuredNote& note = runs[r].notes[n];
      return note.pitch && !note.beat ? note.pitch->hertz.value() : NAN;
    });
    for (std::size_t i = 0; i < heard.size(); ++i)
      line(i < methods.size() ? methods[i].name : "praat", [&](std::size_t r, std::size_t n) {
        const MeasuredNote& note = runs[r].notes[n];
        if (!note.pitch) return static_cast<double>(NAN);
        const double from = note.pitch->from.value();
        return middle(heard[i][r], from, from + note.pitch->stretch.value());
      });
  }
}

std::string cents(double error) {
  return std::fabs(error) > 50.0 ? std::string("   gross") : fmt::format("{:+8.4f}", error);
}

}  // namespace

int main(int argc, char** argv) {
  const bool speed_only = argc > 1 && std::string(argv[1]) == "speed";
  const auto folder = std::filesystem::temp_directory_path() / fmt::format("calcant-peers-{}", ::getpid());
  std::filesystem::create_directories(folder);
  const auto wav = folder / "sound.wav";
  const bool have_peer = std::system("command -v aubiopitch >/dev/null 2>&1") == 0;
  const bool have_praat = std::system("command -v praat >/dev/null 2>&1") == 0;
  if (!have_praat) fmt::print("praat is not installed: left out\n");
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
  fmt::print(" {:>8}\n", have_praat ? "praat" : "");
  struct Kind {
    const char* name;
    double white, brown, wander;
    bool room;
  };
  std::uint64_t seed = 40;
  for (const Kind& kind :
       {Kind{"dry, white noise -20 dB", -20, -200, 0, false}, Kind{"dry, brown noise -15 dB", -200, -15, 0, false},
        Kind{"church, brown noise -15 dB", -200, -15, 0, true}, Kind{"wind wandering 1 cent", -40, -200, 1, false}}) {
    if (speed_only || (kind.room && response.empty())) continue;
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
      write_wav(wav, sound);
      const auto show = [&](const std::vector<std::pair<double, double>>& frames) {
        std::vector<double> inside;
        for (const auto& [t, hz] : frames)
          if (t >= from && t <= to && hz > 0.0) inside.push_back(hz);
        fmt::print(" {}", inside.empty() ? "    none" : cents(1200.0 * std::log2(measuring::median(inside) / truth)));
      };
      if (have_peer)
        for (const auto& m : methods) show(peer(wav, m.name, m.buffer, m.hop));
      if (have_praat) show(praat(wav));
      fmt::print("\n");
    }
  }

  if (!speed_only) tell_recorded(wav, have_peer ? methods : std::vector<Method>{}, have_praat);

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
