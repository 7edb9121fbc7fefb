// A recorded response through the job: an ideal decay written as a WAV file, whose measures follow from its time alone
// (ISO 3382-1's definitions integrated: EDT = T20 = T30 = T; with k = 13.8155/T, D50 = 1 - exp(-0.05 k),
// C80 = 10 lg(exp(0.08 k) - 1), Ts = 1/k), and a real church.
#include "jobs/room.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "engine/quantity/random.hpp"
#include "jobs/json.hpp"

namespace calcant {
namespace {

namespace fs = std::filesystem;

// 16-bit PCM, one channel.
fs::path wav_file(const std::string& name, const std::vector<double>& samples, std::uint32_t rate) {
  const fs::path path = fs::temp_directory_path() / name;
  std::ofstream out{path, std::ios::binary};
  const auto put = [&](std::uint32_t v, int bytes) {
    for (int i = 0; i < bytes; ++i) out.put(static_cast<char>(v >> (8 * i) & 0xFF));
  };
  const auto data = static_cast<std::uint32_t>(2 * samples.size());
  out << "RIFF";
  put(36 + data, 4);
  out << "WAVEfmt ";
  put(16, 4);
  put(1, 2);
  put(1, 2);
  put(rate, 4);
  put(2 * rate, 4);
  put(2, 2);
  put(16, 2);
  out << "data";
  put(data, 4);
  for (const double s : samples) {
    put(static_cast<std::uint32_t>(static_cast<std::int32_t>(std::lround(std::clamp(s, -1.0, 1.0) * 32767))), 2);
  }
  return path;
}

TEST(RoomJob, MeasuresOfAnIdealDecay) {
  constexpr double t60 = 1.6;
  Random random{1933};
  std::vector<double> h(4800, 0.0);
  for (int i = 0; i < 2 * 48000; ++i) h.push_back(0.2 * random.normal() * std::pow(10, -3 * (i / 48000.0) / t60));
  const fs::path path = wav_file("calcant_room_test.wav", h, 48000);
  const auto room = measure_room(path);
  fs::remove(path);
  ASSERT_TRUE(room) << room.error().message;
  EXPECT_EQ(room->channels, 1);
  const double k = 13.8155 / t60;
  const Decay& whole = room->measures.whole;
  ASSERT_TRUE(whole.t30 && whole.t20 && whole.early);
  EXPECT_NEAR(whole.t30->value(), t60, 0.03 * t60);
  EXPECT_NEAR(whole.t20->value(), t60, 0.03 * t60);
  EXPECT_NEAR(whole.early->value(), t60, 0.05 * t60);
  EXPECT_NEAR(whole.clarity.value(), 10 * std::log10(std::exp(0.08 * k) - 1), 0.5);
  EXPECT_NEAR(whole.definition, 1 - std::exp(-0.05 * k), 0.03);
  EXPECT_NEAR(whole.centre_time.value(), 1 / k, 0.005);
  const Json j = Json::parse(json_text(nullptr, &*room));
  EXPECT_FALSE(j.contains("model"));
  EXPECT_EQ(j["response"]["bands"].size(), 8U);
  EXPECT_NEAR(j["response"]["bands"][4]["t30_s"].get<double>(), t60, 0.1 * t60);
}

// Another program's T30 of the same recording, 5 % (ISO 3382-1 annex A: what is just noticeable).
TEST(RoomJob, StMargaretsYork) {
  const fs::path file = "../shared/rooms/st-margarets-york.wav";
  if (!fs::exists(file)) GTEST_SKIP() << "../shared is not here";
  const auto room = measure_room(file);
  ASSERT_TRUE(room) << room.error().message;
  EXPECT_NEAR(room->measures.bands[3]->t30->value(), 1.38, 0.05 * 1.38);
  EXPECT_NEAR(room->measures.bands[4]->t30->value(), 1.23, 0.05 * 1.23);
}

TEST(RoomJob, RefusesWhatIsNoResponse) {
  const auto none = measure_room("demo/village/organ.toml");
  ASSERT_FALSE(none);
  EXPECT_NE(none.error().where.find("organ.toml"), std::string::npos);
  const fs::path path = wav_file("calcant_room_silence.wav", std::vector<double>(48000, 0.0), 48000);
  const auto silent = measure_room(path);
  fs::remove(path);
  ASSERT_FALSE(silent);
  EXPECT_NE(silent.error().message.find("silent"), std::string::npos);
}

// The church of the village: people take reverberation and strength away; the bench is louder than the nave; and strength
// is what Barron & Lee (J. Acoust. Soc. Am. 84 (1988) 618) give: G = 10 lg(100/r2 + 31200 T/V e^(-0.04 r/T)).
TEST(RoomJob, TheModelledChurch) {
  const auto context = open_organ("demo/village");
  ASSERT_TRUE(context);
  const RoomModel m = room_model(*context);
  ASSERT_EQ(m.with.size(), 3U);
  EXPECT_GE(m.modal_below, Hertz{80});
  for (std::size_t i = 0; i < 3; ++i) {
    const RoomWith& w = m.with[i];
    ASSERT_EQ(w.at.size(), 2U);
    for (std::size_t b = 0; b < w.reverberation.size(); ++b) {
      if (i > 0) {
        EXPECT_LT(w.reverberation[b], m.with[i - 1].reverberation[b]);
      }
      EXPECT_GT(w.at[0].strength[b], w.at[1].strength[b]);
      for (const RoomWith::At& at : w.at) {
        const double r = at.distance.value();
        const double t = w.reverberation[b];
        const double published =
            10 * std::log10(100 / (r * r) + 31200 * t / m.volume.value() * std::exp(-0.04 * r / t));
        EXPECT_NEAR(at.strength[b], published, 0.15);
      }
    }
  }
  const auto notes = notes_on(&m, nullptr);
  ASSERT_FALSE(notes.empty());
  EXPECT_NE(notes.front().find("single resonances"), std::string::npos);
}

}  // namespace
}  // namespace calcant
