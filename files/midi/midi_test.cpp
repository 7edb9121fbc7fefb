// Standard MIDI files: own small ones byte by byte, and the twins of the real scores.
#include "files/midi/midi.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>

namespace calcant {
namespace {

namespace fs = std::filesystem;
using testing::Contains;
using testing::HasSubstr;

std::string bytes(std::initializer_list<int> list) {
  std::string s;
  for (const int b : list) s += static_cast<char>(b);
  return s;
}
std::string header(int format, int tracks, int division) {
  return "MThd" + bytes({0, 0, 0, 6, 0, format, 0, tracks, division >> 8 & 0xFF, division & 0xFF});
}
std::string track(const std::string& events) {
  const auto n = static_cast<int>(events.size());
  return "MTrk" + bytes({0, 0, n >> 8, n & 0xFF}) + events;
}
const std::string end = bytes({0, 0xFF, 0x2F, 0});

Score read(const std::string& data) {
  auto s = read_midi(data, "own.mid");
  EXPECT_TRUE(s) << sentence(s.error());
  return s.value_or(Score{});
}

TEST(Midi, RunningStatusAndVelocityZero) {
  // C4 for a quarter, then E4 for a quarter, by running status and velocity 0.
  const Score s = read(header(0, 1, 96) + track(bytes({0, 0x90, 60, 64, 96, 60, 0, 0, 64, 64, 96, 64, 0}) + end));
  ASSERT_EQ(s.notes.size(), 2U);
  EXPECT_EQ(s.notes[0].length, Rational{1});
  EXPECT_EQ(s.notes[1].at, Rational{1});
  EXPECT_EQ(s.notes[1].note.midi, 64);
  EXPECT_TRUE(s.remarks.empty());
}

TEST(Midi, BarsFromTimeSignaturesAndTiesAcrossThem) {
  // 3/4; a note of four quarters from the beginning.
  const Score s = read(header(1, 2, 96) + track(bytes({0, 0xFF, 0x58, 4, 3, 2, 24, 8}) + end) +
                       track(bytes({0, 0x90, 60, 64, 0x83, 0x00, 0x80, 60, 0}) + end));
  ASSERT_EQ(s.bars.size(), 2U);
  EXPECT_EQ(s.bars[0].length, Rational{3});
  ASSERT_EQ(s.notes.size(), 2U);
  EXPECT_TRUE(s.notes[0].tie_to);
  EXPECT_TRUE(s.notes[1].tie_from);
  ASSERT_EQ(presses(s).size(), 1U);
  EXPECT_EQ(presses(s)[0].end, Rational{4});
}

TEST(Midi, TempoMap) {
  // 60 a minute, after two quarters 120.
  const Score s =
      read(header(0, 1, 96) + track(bytes({0,    0xFF, 0x51, 3, 0x0F, 0x42, 0x40, 0,    0x90, 60,   64, 0x81,
                                           0x40, 0xFF, 0x51, 3, 0x07, 0xA1, 0x20, 0x81, 0x40, 0x80, 60, 0}) +
                                    end));
  const Tempo t(s, 100);
  EXPECT_FALSE(t.assumed());
  EXPECT_DOUBLE_EQ(t.at(Rational{4}).value(), 3.0);
}

TEST(Midi, FramesOfASecond) {
  // 25 frames of 40 ticks: a thousand ticks a second. A note of one second is two quarters at 120.
  const Score s =
      read(header(0, 1, (256 - 25) << 8 | 40) + track(bytes({0, 0x90, 60, 64, 0x87, 0x68, 0x80, 60, 0}) + end));
  ASSERT_EQ(s.notes.size(), 1U);
  EXPECT_EQ(s.notes[0].length, Rational{2});
  EXPECT_DOUBLE_EQ(Tempo(s, 60).at(Rational{2}).value(), 1.0);
}

TEST(Midi, OverlappingNotesOfOneKeyAreBothKept) {
  const Score s = read(header(0, 1, 96) + track(bytes({0, 0x90, 60, 64, 48, 60, 64, 48, 60, 0, 48, 60, 0}) + end));
  EXPECT_EQ(s.notes.size(), 2U);
  EXPECT_EQ(presses(s).size(), 1U);
  EXPECT_THAT(s.remarks, Contains(HasSubstr("struck again")));
}

TEST(Midi, UnknownChunksAreSkippedAndCutFilesReadAsFarAsTheyGo) {
  const std::string good = header(0, 1, 96) + "XYZW" + bytes({0, 0, 0, 2, 1, 2}) +
                           track(bytes({0, 0x90, 60, 64, 96, 60, 0, 0, 62, 64, 96, 62, 0}) + end);
  EXPECT_EQ(read(good).notes.size(), 2U);
  const Score cut = read(good.substr(0, good.size() - 8));
  EXPECT_GE(cut.notes.size(), 1U);
  EXPECT_THAT(cut.remarks, Contains(HasSubstr("cut off")));
}

TEST(Midi, TracksOfFormatTwoFollowEachOther) {
  const std::string one = track(bytes({0, 0x90, 60, 64, 96, 60, 0}) + end);
  const Score s = read(header(2, 2, 96) + one + one);
  EXPECT_EQ(s.staves.size(), 1U);
  ASSERT_EQ(s.notes.size(), 2U);
  EXPECT_EQ(s.notes[1].at, Rational{1});
}

TEST(Midi, RefusesWhatIsNone) {
  for (const std::string& bad : {std::string{}, std::string("RIFF"), std::string("MThd"), header(0, 1, 0) + track(end),
                                 header(3, 1, 96) + track(end), header(0, 1, 96), header(0, 1, 96) + track(end)}) {
    const auto s = read_midi(bad, "bad.mid");
    ASSERT_FALSE(s);
    EXPECT_EQ(s.error().where, "bad.mid");
    EXPECT_FALSE(s.error().message.empty());
  }
}

TEST(Midi, ALongSilenceIsNotFollowedForEver) {
  const std::string wait = bytes({0xFF, 0xFF, 0xFF, 0x7F, 0xFF, 0x01, 0});
  std::string events;
  for (int i = 0; i < 20; ++i) events += wait;
  EXPECT_FALSE(read_midi(header(0, 1, 1) + track(events + bytes({0, 0x90, 60, 64, 1, 60, 0}) + end), "long.mid"));
}

TEST(Midi, RealHymnHasItsHands) {
  const fs::path file = "../shared/scores/hymn-st_anne.mid";
  if (!fs::exists(file)) GTEST_SKIP() << "../shared is not here";
  std::ifstream in(file, std::ios::binary);
  const Score s = read({std::istreambuf_iterator<char>(in), {}});
  EXPECT_TRUE(s.hymn);
  EXPECT_EQ(s.staves[0].role, Role::right_hand);
  EXPECT_EQ(s.bars.size(), 8U);
}

}  // namespace
}  // namespace calcant
