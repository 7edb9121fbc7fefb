#include "engine/measuring/testing/recorded.hpp"

#include <fmt/format.h>
#include <samplerate.h>
#include <unistd.h>

#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>

namespace calcant::recorded {

namespace {

constexpr const char* sound_font = "/usr/share/sounds/sf2/FluidR3_GM.sf2";

std::string big_endian(std::uint32_t v, int bytes) {
  std::string s;
  for (int i = bytes - 1; i >= 0; --i) s += static_cast<char>(v >> (8 * i) & 0xFF);
  return s;
}

// A delta time of Standard MIDI Files: seven bits a byte, highest first.
std::string delta(std::uint32_t ticks) {
  std::string s(1, static_cast<char>(ticks & 0x7F));
  while ((ticks >>= 7) > 0) s.insert(s.begin(), static_cast<char>(0x80 | (ticks & 0x7F)));
  return s;
}

// 480 ticks a crotchet at the default 120 crotchets a minute: 960 ticks a second.
std::string midi_file(const Instrument& instrument) {
  std::string track = delta(0) + '\xC0' + static_cast<char>(instrument.programme);
  std::uint32_t wait = 960;
  for (const int key : instrument.keys) {
    track += delta(wait) + '\x90' + static_cast<char>(key) + static_cast<char>(100);
    track += delta(4 * 960) + '\x80' + static_cast<char>(key) + static_cast<char>(0);
    wait = 2 * 960;
  }
  track += delta(2 * 960) + std::string("\xFF\x2F\x00", 3);
  return "MThd" + big_endian(6, 4) + big_endian(0, 2) + big_endian(1, 2) + big_endian(480, 2) + "MTrk" +
         big_endian(static_cast<std::uint32_t>(track.size()), 4) + track;
}

}  // namespace

std::vector<Instrument> instruments() {
  return {{"recorder", 74, true, {72, 76, 79, 84, 88, 91}},
          {"bagpipe (chanter, drones)", 109, false, {48, 55, 60, 64, 67, 72}},
          {"church organ (chorus)", 19, false, {36, 43, 48, 55, 60, 67, 72, 79, 84}}};
}

std::vector<float> played(const Instrument& instrument, int rate) {
  if (!std::filesystem::exists(sound_font) || std::system("command -v fluidsynth >/dev/null 2>&1") != 0) return {};
  const auto folder =
      std::filesystem::temp_directory_path() / fmt::format("calcant-recorded-{}-{}", ::getpid(), instrument.programme);
  std::filesystem::create_directories(folder);
  std::ofstream(folder / "notes.mid", std::ios::binary) << midi_file(instrument);
  const std::string command =
      fmt::format("fluidsynth -ni -q -R 0 -C 0 -g 0.5 -r {} -T raw -O float -F '{}' '{}' '{}' >/dev/null 2>&1", rate,
                  (folder / "sound.raw").string(), sound_font, (folder / "notes.mid").string());
  std::vector<float> mono;
  if (std::system(command.c_str()) == 0) {
    std::ifstream in(folder / "sound.raw", std::ios::binary);
    const std::string bytes(std::istreambuf_iterator<char>(in), {});
    for (std::size_t i = 0; i + 8 <= bytes.size(); i += 8) {
      float pair[2];
      std::memcpy(pair, bytes.data() + i, 8);
      mono.push_back(0.5F * (pair[0] + pair[1]));
    }
  }
  std::filesystem::remove_all(folder);
  return mono;
}

std::vector<float> raised(const std::vector<float>& sound, double cents) {
  const double ratio = std::exp2(-cents / 1200.0);
  std::vector<float> out(static_cast<std::size_t>(static_cast<double>(sound.size()) * ratio) + 16);
  SRC_DATA d{};
  d.data_in = sound.data();
  d.input_frames = static_cast<long>(sound.size());
  d.data_out = out.data();
  d.output_frames = static_cast<long>(out.size());
  d.src_ratio = ratio;
  if (src_simple(&d, SRC_SINC_BEST_QUALITY, 1) != 0) return {};
  out.resize(static_cast<std::size_t>(d.output_frames_gen));
  return out;
}

}  // namespace calcant::recorded
