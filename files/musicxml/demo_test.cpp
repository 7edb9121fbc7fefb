// The demo's own music is what the demo needs: hymns with known lines, a voluntary with everything marked.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <iterator>

#include "engine/score/lines.hpp"
#include "files/musicxml/musicxml.hpp"

namespace calcant {
namespace {

Score demo(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  const std::string bytes{std::istreambuf_iterator<char>(in), {}};
  auto s = read_musicxml(bytes, path);
  EXPECT_TRUE(s) << sentence(s.error());
  return s.value_or(Score{});
}

TEST(Demo, HymnsHaveTheirLinesAndFourParts) {
  struct Hymn {
    std::string file;
    std::vector<int> lines;  // performed quarters
    int melody;              // notes of the tune: the syllables of its metre
  };
  const std::vector<Hymn> hymns{{"old-hundredth", {8, 16, 24, 32}, 32},
                                {"winchester-new", {8, 16, 24, 32}, 32},
                                {"tallis-canon", {8, 16, 24, 32}, 32},
                                {"dundee", {8, 16, 24, 32}, 28}};
  for (const Hymn& h : hymns) {
    Score s = demo(fmt::format("demo/village/music/{}.musicxml", h.file));
    EXPECT_TRUE(s.hymn) << h.file;
    EXPECT_TRUE(s.remarks.empty()) << h.file << s.remarks.front();
    const std::vector<Rational> ends = line_ends(s);
    ASSERT_EQ(ends.size(), h.lines.size()) << h.file;
    for (std::size_t i = 0; i < ends.size(); ++i)
      EXPECT_EQ(ends[i], Rational{h.lines[i]}) << h.file << " line " << i + 1;
    EXPECT_EQ(s.notes.size(), static_cast<std::size_t>(4 * h.melody)) << h.file;
    EXPECT_FALSE(Tempo(s, 90).assumed()) << h.file;
    s.bass = Bass::feet;
    for (const Press& p : presses(s)) {
      EXPECT_GE(p.key.midi, 36) << h.file;
      if (p.role == Role::feet) {
        EXPECT_LE(p.key.midi, 62) << h.file;
      }
    }
  }
}

TEST(Demo, VoluntaryHasItAll) {
  const Score s = demo("demo/village/music/voluntary-in-d.musicxml");
  EXPECT_EQ(s.bars.size(), 42U);
  // Bars 1 to 8, 1 to 7 and 9, and on to the end.
  ASSERT_EQ(s.turns.size(), 49U);
  EXPECT_EQ(s.turns[8].bar, 0);
  EXPECT_EQ(s.turns[8].pass, 2);
  EXPECT_EQ(s.turns[15].bar, 8);
  ASSERT_EQ(s.staves.size(), 3U);
  EXPECT_EQ(s.staves[0].role, Role::right_hand);
  EXPECT_EQ(s.staves[1].role, Role::left_hand);
  EXPECT_EQ(s.staves[2].role, Role::feet);
  EXPECT_TRUE(s.remarks.empty());
  EXPECT_FALSE(s.hymn);
  const auto has = [&](Direction::Kind kind, const std::string& text) {
    return std::any_of(s.directions.begin(), s.directions.end(),
                       [&](const Direction& d) { return d.kind == kind && (text.empty() || d.text == text); });
  };
  for (const char* level : {"p", "mp", "mf", "f", "ff"}) EXPECT_TRUE(has(Direction::Kind::dynamics, level)) << level;
  EXPECT_TRUE(has(Direction::Kind::words, "Sw. Oboe, solo"));
  for (const auto kind : {Direction::Kind::wedge_opens, Direction::Kind::wedge_closes, Direction::Kind::wedge_ends,
                          Direction::Kind::tempo}) {
    EXPECT_TRUE(has(kind, ""));
  }
  int starts = 0;
  int ends = 0;
  for (const WrittenNote& n : s.notes) {
    starts += n.slur_starts;
    ends += n.slur_ends;
  }
  EXPECT_EQ(starts, ends);
  EXPECT_GT(starts, 15);
  for (const Bar& b : s.bars) EXPECT_EQ(b.length, Rational{4}) << b.label;
}

TEST(Demo, SemitonesForTheTuningTest) {
  const Score s = demo("tests/scores/semitones.musicxml");
  const auto p = presses(s);
  ASSERT_EQ(p.size(), 25U);
  for (std::size_t i = 0; i < p.size(); ++i) EXPECT_EQ(p[i].key.midi, 48 + static_cast<int>(i));
}

}  // namespace
}  // namespace calcant
