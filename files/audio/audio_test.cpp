// WAV bytes below are written by hand after the RIFF/WAVE description (IBM & Microsoft, "Multimedia
// Programming Interface and Data Specifications 1.0", 1991), so that reading is checked against the format
// and not our own writer.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <bit>
#include <cmath>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <limits>
#include <string>
#include <vector>

#include "files/audio/reader.hpp"
#include "files/audio/writer.hpp"

namespace calcant {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;

class Audio : public testing::Test {
 protected:
  Audio() {
    const auto* info = testing::UnitTest::GetInstance()->current_test_info();
    folder_ = fs::temp_directory_path() / ("calcant-audio-" + std::to_string(::getpid()) + "-" + info->name());
    fs::create_directories(folder_);
  }
  ~Audio() override { fs::remove_all(folder_); }
  [[nodiscard]] fs::path at(const std::string& name) const { return folder_ / name; }
  [[nodiscard]] std::size_t files_there() const {
    return static_cast<std::size_t>(std::distance(fs::directory_iterator(folder_), fs::directory_iterator{}));
  }
  void put(const std::string& name, const std::string& bytes) const {
    std::ofstream(at(name), std::ios::binary) << bytes;
  }

 private:
  fs::path folder_;
};

std::string little(std::uint32_t v, int bytes) {
  std::string s;
  for (int i = 0; i < bytes; ++i) s += static_cast<char>(v >> (8 * i) & 0xFF);
  return s;
}

// coding 1 = whole numbers, 3 = float.
std::string wav(std::uint32_t coding, std::uint32_t channels, std::uint32_t rate, std::uint32_t bits,
                const std::string& data, std::uint32_t claimed_more = 0) {
  const std::uint32_t frame = channels * bits / 8;
  const auto size = static_cast<std::uint32_t>(data.size()) + claimed_more;
  return "RIFF" + little(36 + size, 4) + "WAVEfmt " + little(16, 4) + little(coding, 2) + little(channels, 2) +
         little(rate, 4) + little(rate * frame, 4) + little(frame, 2) + little(bits, 2) + "data" + little(size, 4) +
         data;
}

std::string floats(const std::vector<float>& v) {
  std::string s;
  for (const float x : v) s += little(std::bit_cast<std::uint32_t>(x), 4);
  return s;
}

std::vector<float> all(AudioReader& reader, std::size_t block = 7) {
  std::vector<float> out;
  std::vector<float> part(block * static_cast<std::size_t>(reader.channels()));
  for (;;) {
    const auto got = reader.read(part);
    if (!got) ADD_FAILURE() << sentence(got.error());
    if (!got || *got == 0) return out;
    out.insert(out.end(), part.begin(), part.begin() + *got * reader.channels());
  }
}

TEST_F(Audio, ReadsHandWrittenSixteenBitStereo) {
  put("a.wav", wav(1, 2, 22050, 16, little(0x4000, 2) + little(0xC000, 2) + little(0x7FFF, 2) + little(0x8000, 2)));
  auto r = AudioReader::open(at("a.wav"));
  ASSERT_TRUE(r) << sentence(r.error());
  EXPECT_EQ(r->rate(), 22050);
  EXPECT_EQ(r->channels(), 2);
  EXPECT_EQ(r->frames(), 2);
  EXPECT_EQ(r->format(), "WAV, 16 bit");
  EXPECT_FALSE(r->lossy());
  EXPECT_FALSE(r->mislabelled());
  EXPECT_THAT(all(*r), testing::ElementsAre(0.5F, -0.5F, 32767.0F / 32768.0F, -1.0F));
}

TEST_F(Audio, KeepsTwentyFourBitsThroughBothFormats) {
  std::vector<float> sound;
  for (int i = 0; i < 6000; ++i) sound.push_back(static_cast<float>((i * 2711) % 16000000 - 8000000) / 8388608.0F);
  for (const std::string name : {"x.wav", "x.flac"}) {
    ASSERT_TRUE(write_audio(at(name), 48000, 2, sound));
    auto r = AudioReader::open(at(name));
    ASSERT_TRUE(r) << sentence(r.error());
    EXPECT_EQ(r->format(), name == "x.wav" ? "WAV, 24 bit" : "FLAC, 24 bit");
    const auto back = all(*r, 997);
    ASSERT_EQ(back.size(), sound.size());
    for (std::size_t i = 0; i < sound.size(); ++i) EXPECT_NEAR(back[i], sound[i], 1.01 / 8388608.0);
  }
}

TEST_F(Audio, SameSamplesGiveTheSameBytes) {
  const std::vector<float> sound(1000, 0.25F);
  const auto bytes = [&](const std::string& name) {
    EXPECT_TRUE(write_audio(at(name), 44100, 1, sound));
    std::ifstream in(at(name), std::ios::binary);
    return std::string(std::istreambuf_iterator<char>(in), {});
  };
  EXPECT_EQ(bytes("a.wav"), bytes("b.wav"));
  EXPECT_EQ(bytes("a.flac"), bytes("b.flac"));
}

TEST_F(Audio, UnfinishedWriterLeavesWhatWasThere) {
  put("old.wav", "precious");
  {
    auto w = AudioWriter::create(at("old.wav"), AudioFormat::wav, 48000, 1);
    ASSERT_TRUE(w);
    ASSERT_TRUE(w->write(std::vector<float>(5000, 0.1F)));
    EXPECT_EQ(files_there(), 2U);
  }
  EXPECT_EQ(files_there(), 1U);
  EXPECT_EQ(fs::file_size(at("old.wav")), 8U);
}

TEST_F(Audio, WriterCountsClippingAndRefusesWhatIsNoNumber) {
  auto w = AudioWriter::create(at("c.flac"), AudioFormat::flac, 48000, 1);
  ASSERT_TRUE(w);
  ASSERT_TRUE(w->write(std::vector<float>{1.5F, 0.0F, -2.0F}));
  EXPECT_EQ(w->clipped(), 2);
  const auto bad = w->write(std::vector<float>{0.0F, std::nanf("")});
  ASSERT_FALSE(bad);
  EXPECT_THAT(bad.error().message, HasSubstr("sample 4"));
  ASSERT_TRUE(w->finish());
  EXPECT_FALSE(w->finish());
  auto r = AudioReader::open(at("c.flac"));
  ASSERT_TRUE(r);
  const auto back = all(*r);
  EXPECT_NEAR(back[0], 1.0F, 1e-6);
  EXPECT_NEAR(back[2], -1.0F, 1e-6);
}

TEST_F(Audio, WriterRefusesWhatCannotBeWritten) {
  EXPECT_FALSE(AudioWriter::create(at("a.wav"), AudioFormat::wav, 100, 1));
  EXPECT_FALSE(AudioWriter::create(at("a.wav"), AudioFormat::wav, 48000, 9));
  EXPECT_FALSE(AudioWriter::create(at("no/such/folder/a.wav"), AudioFormat::wav, 48000, 1));
  EXPECT_FALSE(AudioWriter::create("/dev/null", AudioFormat::wav, 48000, 1));
  fs::create_directory(at("folder.wav"));
  EXPECT_FALSE(write_audio(at("folder.wav"), 48000, 1, std::vector<float>(3)));
  EXPECT_THAT(write_audio(at("a.mp3"), 48000, 1, {}).error().message, HasSubstr(".wav or .flac"));
}

TEST_F(Audio, TakesNotANumberAsSilenceAndSaysWhere) {
  std::vector<float> sound(8000, 0.5F);
  sound[4000] = std::numeric_limits<float>::quiet_NaN();
  sound[4001] = std::numeric_limits<float>::infinity();
  sound[4002] = 1e30F;
  put("n.wav", wav(3, 1, 8000, 32, floats(sound)));
  auto r = AudioReader::open(at("n.wav"));
  ASSERT_TRUE(r) << sentence(r.error());
  const auto back = all(*r, 512);
  ASSERT_EQ(back.size(), 8000U);
  EXPECT_EQ(back[4000], 0.0F);
  EXPECT_EQ(r->faults().not_numbers, 3);
  ASSERT_TRUE(r->faults().first_at);
  EXPECT_DOUBLE_EQ(r->faults().first_at->value(), 0.5);
}

TEST_F(Audio, SaysASentenceForEveryKindOfBadFile) {
  put("empty.wav", "");
  put("text.wav", "This is a letter to the builder, not a recording.");
  put("header.wav", wav(1, 1, 48000, 16, ""));
  put("rate.wav", wav(1, 1, 100, 16, std::string(200, 'x')));
  put("cut.flac", "fLaC");
  put("noise.ogg", "OggS" + std::string(300, '\x7f'));
  for (const std::string name :
       {"empty.wav", "text.wav", "header.wav", "rate.wav", "cut.flac", "noise.ogg", "absent"}) {
    const auto r = AudioReader::open(at(name));
    ASSERT_FALSE(r) << name;
    EXPECT_THAT(r.error().where, HasSubstr(name));
    EXPECT_GT(r.error().message.size(), 10U);
  }
}

TEST_F(Audio, RefusesWhatMightNeverEnd) {
  EXPECT_THAT(AudioReader::open("/dev/zero").error().message, HasSubstr("ordinary file"));
  EXPECT_THAT(AudioReader::open(at(".")).error().message, HasSubstr("ordinary file"));
  ASSERT_EQ(::mkfifo(at("pipe.wav").c_str(), 0600), 0);
  EXPECT_THAT(AudioReader::open(at("pipe.wav")).error().message, HasSubstr("ordinary file"));
  // A sparse file that claims and has 25 hours of 8-bit sound.
  const std::uint32_t size = 25U * 3600U * 8000U;
  const std::string head = wav(1, 1, 8000, 8, "", size);
  put("long.wav", head);
  fs::resize_file(at("long.wav"), head.size() + size);
  EXPECT_THAT(AudioReader::open(at("long.wav")).error().message, HasSubstr("24 hours"));
}

TEST_F(Audio, ReadsByContentAndSaysWhenTheNameIsWrong) {
  put("song.flac", wav(1, 1, 48000, 16, std::string(400, 'x')));
  auto r = AudioReader::open(at("song.flac"));
  ASSERT_TRUE(r);
  ASSERT_TRUE(r->mislabelled());
  EXPECT_THAT(*r->mislabelled(), HasSubstr("holds WAV"));
  EXPECT_EQ(all(*r).size(), 200U);
}

TEST_F(Audio, ReadsWhatThereIsOfATruncatedRecording) {
  ASSERT_TRUE(write_audio(at("whole.flac"), 48000, 1, std::vector<float>(200000, 0.3F)));
  std::vector<float> rough(200000);
  for (std::size_t i = 0; i < rough.size(); ++i) rough[i] = 0.5F * std::sin(static_cast<float>(i * i % 10007));
  ASSERT_TRUE(write_audio(at("cut.flac"), 48000, 1, rough));
  fs::resize_file(at("cut.flac"), fs::file_size(at("cut.flac")) / 2);
  auto r = AudioReader::open(at("cut.flac"));
  ASSERT_TRUE(r) << sentence(r.error());
  const auto n = static_cast<std::int64_t>(all(*r, 4096).size());
  EXPECT_GT(n, 50000);
  EXPECT_LT(n, 150000);
  EXPECT_EQ(r->faults().missing_frames, 200000 - n);

  put("cut.wav", wav(1, 1, 48000, 16, std::string(400, 'x'), 100000));
  auto w = AudioReader::open(at("cut.wav"));
  ASSERT_TRUE(w) << sentence(w.error());
  EXPECT_EQ(all(*w).size(), 200U);
}

TEST_F(Audio, WindsToAnyPlace) {
  std::vector<float> ramp(5000);
  for (std::size_t i = 0; i < ramp.size(); ++i) ramp[i] = static_cast<float>(i) / 8192.0F;
  for (const std::string name : {"r.wav", "r.flac"}) {
    ASSERT_TRUE(write_audio(at(name), 48000, 1, ramp));
    auto r = AudioReader::open(at(name));
    ASSERT_TRUE(r);
    std::vector<float> one(1);
    for (const std::int64_t place : {4000, 17, 4999, 0}) {
      ASSERT_TRUE(r->seek(place));
      ASSERT_EQ(r->read(one), 1);
      EXPECT_NEAR(one[0], static_cast<float>(place) / 8192.0F, 1e-6);
    }
    ASSERT_TRUE(r->seek(5000));
    EXPECT_EQ(r->read(one), 0);
    EXPECT_FALSE(r->seek(-1));
  }
}

// Any damage to any byte gives an error or sound, never a crash (the sanitizers watch).
TEST_F(Audio, SurvivesDamagedBytes) {
  ASSERT_TRUE(write_audio(at("good.flac"), 48000, 2, std::vector<float>(3000, 0.2F)));
  ASSERT_TRUE(write_audio(at("good.wav"), 48000, 2, std::vector<float>(300, 0.2F)));
  for (const std::string name : {"good.flac", "good.wav"}) {
    std::ifstream in(at(name), std::ios::binary);
    const std::string good(std::istreambuf_iterator<char>(in), {});
    for (std::size_t i = 0; i < std::min<std::size_t>(good.size(), 120); ++i) {
      for (const char damage : {'\x00', '\x7f', '\xff'}) {
        std::string bad = good;
        bad[i] = damage;
        put("bad", bad);
        auto r = AudioReader::open(at("bad"));
        if (!r) continue;
        std::vector<float> block(64 * 1024);
        for (int n = 0; n < 100; ++n) {
          const auto got = r->read(block);
          if (!got || *got == 0) break;
        }
      }
    }
  }
}

}  // namespace
}  // namespace calcant
