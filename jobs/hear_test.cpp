// Sound files as a user asks for them, and what is refused.
#include "jobs/hear.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <bit>
#include <cmath>
#include <fstream>

#include "files/audio/reader.hpp"
#include "files/audio/writer.hpp"
#include "jobs/room_response.hpp"

namespace calcant {
namespace {

using testing::HasSubstr;

class HearFiles : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = std::filesystem::temp_directory_path() / ("calcant-hear-" + std::to_string(getpid()));
    std::filesystem::create_directories(folder_);
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }
  [[nodiscard]] std::filesystem::path file(const char* name) const { return folder_ / name; }

  std::filesystem::path folder_;
};

std::vector<float> samples_of(const std::filesystem::path& path) {
  auto reader = AudioReader::open(path);
  EXPECT_TRUE(reader) << sentence(reader.error());
  std::vector<float> out;
  std::vector<float> block(8192);
  while (reader) {
    const auto frames = reader->read(block);
    if (!frames || *frames == 0) break;
    out.insert(out.end(), block.begin(), block.begin() + *frames * reader->channels());
  }
  return out;
}

// 32-bit float WAV by hand, one channel: our own writer refuses what is no number.
void write_float_wav(const std::filesystem::path& path, std::uint32_t rate, const std::vector<float>& x) {
  std::string b;
  const auto put = [&b](std::uint32_t v, int bytes) {
    for (int i = 0; i < bytes; ++i) b += static_cast<char>(v >> (8 * i) & 0xFF);
  };
  const auto size = static_cast<std::uint32_t>(4 * x.size());
  b += "RIFF";
  put(36 + size, 4);
  b += "WAVEfmt ";
  put(16, 4);
  put(3, 2);
  put(1, 2);
  put(rate, 4);
  put(4 * rate, 4);
  put(4, 2);
  put(32, 2);
  b += "data";
  put(size, 4);
  for (const float v : x) put(std::bit_cast<std::uint32_t>(v), 4);
  std::ofstream(path, std::ios::binary) << b;
}

std::string refused(const std::filesystem::path& path) {
  const auto r = read_room_response(path, Field{RoomDescription{}}, Metres{10});
  return r ? "not refused" : sentence(r.error());
}

TEST_F(HearFiles, RoomsThatAreNoneAreRefusedWithASentence) {
  std::vector<float> decay(48000);
  for (std::size_t i = 0; i < decay.size(); ++i)
    decay[i] = (i % 2 == 0 ? 1.0F : -1.0F) * std::exp(-1e-4F * static_cast<float>(i));
  write_float_wav(file("good.wav"), 48000, decay);
  EXPECT_EQ(refused(file("good.wav")), "not refused");
  write_float_wav(file("slow.wav"), 8000, decay);
  EXPECT_THAT(refused(file("slow.wav")), HasSubstr("8000 samples a second has no treble"));
  write_float_wav(file("silent.wav"), 48000, std::vector<float>(4800));
  EXPECT_THAT(refused(file("silent.wav")), HasSubstr("silent"));
  auto wrong = decay;
  wrong[7] = std::nanf("");
  wrong[9] = INFINITY;
  write_float_wav(file("nan.wav"), 48000, wrong);
  EXPECT_THAT(refused(file("nan.wav")), HasSubstr("2 of its samples are no numbers"));
  std::ofstream(file("corrupt.wav")) << "RIFF....WAVE and then nothing that makes sense";
  EXPECT_THAT(refused(file("corrupt.wav")), HasSubstr("not a recording that can be read"));
  std::ofstream(file("empty.wav"));
  EXPECT_THAT(refused(file("empty.wav")), HasSubstr("is empty"));
  EXPECT_THAT(refused(file("nowhere.wav")), HasSubstr("cannot be opened"));
}

TEST_F(HearFiles, AnHourIsNoRoom) {
  auto writer = AudioWriter::create(file("hour.flac"), AudioFormat::flac, 16000, 1);
  ASSERT_TRUE(writer);
  const std::vector<float> minute(16000 * 60, 0.25F);
  for (int i = 0; i < 60; ++i) ASSERT_TRUE(writer->write(minute));
  ASSERT_TRUE(writer->finish());
  EXPECT_THAT(refused(file("hour.flac")), HasSubstr("more than 30 seconds"));
}

// The divisions' files added up are the whole's: rounding to 24 bits is all that lies between.
TEST_F(HearFiles, DivisionsApartAddUpToTheWhole) {
  const auto context = open_organ("demo/village");
  ASSERT_TRUE(context);
  HearSettings how;
  how.out = file("chord.wav");
  how.dry = true;
  how.apart = true;
  how.gain_db = 20;
  const auto heard = hear_chord(*context, "Open Diapason 8, Oboe 8, Bourdon 16, Swell to Great", "Great:C4,E4 Pedal:C2",
                                Seconds{0.4}, how, Work{2});
  ASSERT_TRUE(heard) << sentence(heard.error());
  ASSERT_EQ(heard->apart.size(), 3U);
  EXPECT_EQ(heard->apart[0], file("chord-great.wav"));
  const std::vector<float> whole = samples_of(heard->path);
  std::vector<float> sum(whole.size());
  for (const auto& path : heard->apart) {
    const std::vector<float> one = samples_of(path);
    double most = 0;
    for (std::size_t i = 0; i < std::min(one.size(), sum.size()); ++i) {
      sum[i] += one[i];
      most = std::max(most, std::abs(static_cast<double>(one[i])));
    }
    EXPECT_GT(most, 1e-3) << path;
  }
  double worst = 0;
  for (std::size_t i = 0; i < whole.size(); ++i)
    worst = std::max(worst, std::abs(static_cast<double>(whole[i] - sum[i])));
  EXPECT_LT(worst, 1e-6);
}

// Bars of four crotchets at the 72 the score has, so 10/3 s each (arithmetic); the first ending leads back to bar 1.
TEST_F(HearFiles, TheBarsOfAPieceAreToldAsTheyAreHeard) {
  const auto context = open_organ("demo/village");
  ASSERT_TRUE(context);
  HearSettings how;
  how.out = file("bars.wav");
  how.dry = true;
  how.division = "great";
  HearScore what;
  what.score = "demo/village/music/voluntary-in-d.musicxml";
  what.draw = "Dulciana 8";
  what.from_bar = "8";
  what.to_bar = "1";
  const auto heard = hear_score(*context, what, how, Work{2});
  ASSERT_TRUE(heard) << sentence(heard.error());
  ASSERT_EQ(heard->bars.size(), 2U);
  EXPECT_EQ(heard->bars[0].bar_index, 7);
  EXPECT_DOUBLE_EQ(heard->bars[0].at.value(), 0.0);
  EXPECT_EQ(heard->bars[1].bar_index, 0);
  EXPECT_NEAR(heard->bars[1].at.value(), 10.0 / 3, 1e-3);
}

// Asked to stop, it leaves what was there before, and nothing beside it.
TEST_F(HearFiles, StoppedLeavesNothingBehind) {
  const auto context = open_organ("demo/village");
  ASSERT_TRUE(context);
  std::ofstream(file("chord.wav")) << "before";
  HearSettings how;
  how.out = file("chord.wav");
  how.dry = true;
  std::stop_source stop;
  Work work{1, stop.get_token()};
  work.progress = [&](double share, std::string_view) {
    if (share > 0.1) stop.request_stop();
  };
  const auto heard = hear_chord(*context, "Open Diapason 8", "Great:C4", Seconds{20}, how, work);
  ASSERT_FALSE(heard);
  EXPECT_THAT(heard.error().message, HasSubstr("stopped"));
  std::string text;
  std::ifstream(file("chord.wav")) >> text;
  EXPECT_EQ(text, "before");
  EXPECT_EQ(std::distance(std::filesystem::directory_iterator(folder_), {}), 1);
}

TEST_F(HearFiles, WhatWouldGoOverFullScaleIsNotBegun) {
  const auto context = open_organ("demo/village");
  ASSERT_TRUE(context);
  HearSettings how;
  how.out = file("loud.flac");
  how.gain_db = 60;
  int told = 0;
  Work work;
  work.progress = [&](double, std::string_view) { ++told; };
  const auto heard = hear_chord(*context, "Open Diapason 8", "Great:C4,E4,G4", Seconds{1}, how, work);
  ASSERT_FALSE(heard);
  EXPECT_THAT(heard.error().message, HasSubstr("take the listening gain down"));
  EXPECT_EQ(told, 0);
  EXPECT_TRUE(std::filesystem::is_empty(folder_));
}

}  // namespace
}  // namespace calcant
