// invented_measuring ORGAN FOLDER
//
// Makes an INVENTED measuring of three stops of an invented organ (demo/village): one recording a stop, every key from
// bottom to top, with faults planted, and planted.txt, which says what and where. The sound comes from the tests' generator,
// which shares no code with the analysis; nothing in it was ever measured. demo/measuring.sh hands it to the program.
#include <fmt/format.h>

#include <cmath>
#include <cstdio>
#include <filesystem>
#include <map>

#include "engine/measuring/testing/invented.hpp"
#include "engine/quantity/random.hpp"
#include "files/audio/writer.hpp"
#include "jobs/measure.hpp"
#include "jobs/text_file.hpp"

namespace {

using namespace calcant;

constexpr int rate = 24000;
constexpr double celsius = 14.5;  // what the recipe tells the program

struct Planted {
  enum class Kind { dead, flat, soft, slow, cipher, octave } kind;
  double size = 0.0;  // cents, dB, times, s
  std::string words;
};

struct StopPlayed {
  const char* stop;  // id
  const char* file;
  std::vector<double> spectrum;
  double level_db;
  std::map<int, Planted> faults;  // by key
};

std::vector<StopPlayed> stops() {
  using K = Planted::Kind;
  return {
      {"gt-open",
       "open-diapason.wav",
       invented::principal_db,
       -22.0,
       {{54, {K::dead, 0, "F#3 dead (on all three stops: the groove)"}},
        {64, {K::slow, 3.5, "E4 3.5 times as slow to speak"}},
        {79, {K::flat, -9, "G5 9 cents flat"}}}},
      {"gt-principal",
       "principal.wav",
       invented::principal_db,
       -25.0,
       {{54, {K::dead, 0, "F#3 dead (on all three stops: the groove)"}},
        {48, {K::dead, 0, "C3 dead (this stop alone)"}},
        {67, {K::flat, -14, "G4 14 cents flat"}},
        {73, {K::soft, -7, "C#5 7 dB soft"}},
        {82, {K::cipher, 8, "A#5 sounds on for 8 s"}}}},
      {"gt-fifteenth",
       "fifteenth.wav",
       invented::flute_db,
       -28.0,
       {{54, {K::dead, 0, "F#3 dead (on all three stops: the groove)"}},
        {60, {K::octave, 0, "C4 speaks the octave"}},
        {70, {K::flat, 11, "A#4 11 cents sharp"}}}},
  };
}

std::vector<float> played(const RunPlan& plan, const StopPlayed& stop, std::uint64_t seed) {
  constexpr double on = 2.8;
  constexpr double off = 1.4;
  Random random(seed);
  std::vector<float> sound(static_cast<std::size_t>((8.0 + (on + off) * static_cast<double>(plan.keys.size())) * rate),
                           0.0F);
  double at = 4.0;
  for (const PlannedKey& key : plan.keys) {
    const auto fault = stop.faults.find(key.key.midi);
    const auto* f = fault == stop.faults.end() ? nullptr : &fault->second;
    using K = Planted::Kind;
    invented::Pipe p;
    p.hertz =
        key.pipes.front().value() * std::exp2((1.2 * std::sin(key.key.midi * 0.1) + 0.7 * random.normal()) / 1200.0);
    if (f != nullptr && f->kind == K::flat) p.hertz *= std::exp2(f->size / 1200.0);
    if (f != nullptr && f->kind == K::octave) p.hertz *= 2.0;
    p.harmonics_db = stop.spectrum;
    p.level_db = stop.level_db + 0.6 * random.normal() + (f != nullptr && f->kind == K::soft ? f->size : 0.0);
    p.on = at + random.uniform(-0.1, 0.1);
    p.off = p.on + on + (f != nullptr && f->kind == K::cipher ? f->size : 0.0);
    p.rise = std::max(0.012, 6.0 / key.pipes.front().value()) * (f != nullptr && f->kind == K::slow ? f->size : 1.0);
    p.wander_cents = 0.4;
    p.wind_noise_db = p.level_db - 42.0;
    p.chiff_db = p.level_db - 26.0;
    if (f == nullptr || f->kind != K::dead) invented::add(sound, rate, p, random.bits());
    at += on + off;
  }
  invented::add_talk(sound, rate, 0.5, 2.8, -30.0, seed);
  invented::add_white(sound, -66.0, seed + 1);
  invented::add_brown(sound, rate, -48.0, seed + 2);
  return sound;
}

int told(const Error& e) {
  fmt::print(stderr, "invented_measuring: {}\n", sentence(e));
  return 1;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) {
    fmt::print(stderr, "invented_measuring ORGAN FOLDER\n");
    return 2;
  }
  const auto organ = open_organ(argv[1]);
  if (!organ) return told(organ.error());
  if (!organ->described.invented)
    return told({"only an organ that says it is invented gets an invented measuring", argv[1]});
  const std::filesystem::path folder = argv[2];
  if (const auto made = make_folder(folder); !made) return told(made.error());
  std::string planted =
      fmt::format("Invented recordings, by a generator; nothing here was measured. {:.4g} °C.\n", celsius);
  std::uint64_t seed = 1;
  for (const StopPlayed& stop : stops()) {
    const auto plan = plan_of_stop(*organ, stop.stop, Celsius{celsius});
    if (!plan) return told(plan.error());
    const auto written = write_audio(folder / stop.file, rate, 1, played(*plan, stop, 100 * ++seed));
    if (!written) return told(written.error());
    planted += fmt::format("{} ({})\n", stop.file, stop.stop);
    for (const auto& [key, fault] : stop.faults) planted += "  " + fault.words + "\n";
  }
  if (const auto written = write_text_file(folder / "planted.txt", planted); !written) return told(written.error());
  return 0;
}
