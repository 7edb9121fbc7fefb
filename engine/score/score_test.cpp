#include "engine/score/score.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "engine/score/lines.hpp"
#include "engine/score/roles.hpp"
#include "engine/score/turns.hpp"

namespace calcant {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

// A score of `bars` bars of four quarters, one turn each, and the staves named.
Score blank(int bars, const std::vector<std::string>& staves) {
  Score s;
  int part = 0;
  for (const std::string& name : staves) {
    Stave st;
    st.part = part++;
    st.name = name;
    s.staves.push_back(st);
  }
  for (int i = 0; i < bars; ++i) {
    Bar b;
    b.label = std::to_string(i + 1);
    b.length = Rational{4};
    b.start = Rational{4 * i};
    s.bars.push_back(b);
    s.turns.push_back({i, 1, b.start});
  }
  return s;
}

WrittenNote& add(Score& s, int bar, Rational at, Rational length, int midi, int stave = 0, std::string voice = "1") {
  WrittenNote n;
  n.id = static_cast<NoteId>(s.notes.size());
  n.bar = bar;
  n.at = at;
  n.length = length;
  n.note = Note{midi};
  n.stave = stave;
  n.voice = std::move(voice);
  s.notes.push_back(n);
  return s.notes.back();
}

std::vector<int> order(const std::vector<Turn>& turns) {
  std::vector<int> out;
  for (const Turn& t : turns) out.push_back(t.bar + 1);
  return out;
}

std::vector<BarSigns> signs(int bars) { return std::vector<BarSigns>(static_cast<std::size_t>(bars)); }

std::vector<int> unfolded(const std::vector<BarSigns>& s) {
  const Score b = blank(static_cast<int>(s.size()), {"Organ"});
  return order(unfold(b.bars, s, nullptr));
}

TEST(Turns, GoStraightOnWithoutSigns) { EXPECT_THAT(unfolded(signs(3)), ElementsAre(1, 2, 3)); }

TEST(Turns, RepeatFromTheBeginningAndFromASign) {
  auto s = signs(4);
  s[0].backward = 2;
  s[1].forward = true;
  s[2].backward = 3;
  EXPECT_THAT(unfolded(s), ElementsAre(1, 1, 2, 3, 2, 3, 2, 3, 4));
}

TEST(Turns, FirstAndSecondEndings) {
  auto s = signs(4);
  s[1].endings = {1};
  s[1].backward = 2;
  s[2].endings = {2};
  s[2].ending_begins = true;
  EXPECT_THAT(unfolded(s), ElementsAre(1, 2, 1, 3, 4));
}

TEST(Turns, AFirstEndingAloneIsLeftOutTheSecondTime) {
  auto s = signs(3);
  s[1].endings = {1};
  s[1].backward = 2;
  EXPECT_THAT(unfolded(s), ElementsAre(1, 2, 1, 3));
}

TEST(Turns, AnEndingForTwoRounds) {
  auto s = signs(4);
  s[1].endings = {1, 2};
  s[1].backward = 2;
  s[2].endings = {3};
  s[2].ending_begins = true;
  EXPECT_THAT(unfolded(s), ElementsAre(1, 2, 1, 2, 1, 3, 4));
}

TEST(Turns, DaCapoAlFineLeavesRepeatsOut) {
  auto s = signs(4);
  s[1].backward = 2;
  s[1].fine = true;
  s[3].da_capo = true;
  EXPECT_THAT(unfolded(s), ElementsAre(1, 2, 1, 2, 3, 4, 1, 2));
}

TEST(Turns, DalSegnoAlCoda) {
  auto s = signs(6);
  s[1].segno = "a";
  s[2].to_coda = "c";
  s[4].dal_segno = "a";
  s[5].coda = "c";
  EXPECT_THAT(unfolded(s), ElementsAre(1, 2, 3, 4, 5, 2, 3, 6));
}

TEST(Turns, AfterADaCapoTheLastEndingIsPlayed) {
  auto s = signs(5);
  s[1].endings = {1};
  s[1].backward = 2;
  s[2].endings = {2};
  s[2].ending_begins = true;
  s[2].fine = true;
  s[4].da_capo = true;
  EXPECT_THAT(unfolded(s), ElementsAre(1, 2, 1, 3, 4, 5, 1, 3));
}

TEST(Turns, EndlessRepeatsAreCutShort) {
  auto s = signs(2);
  s[1].backward = 1000000;
  bool cut = false;
  const Score b = blank(2, {"Organ"});
  EXPECT_EQ(unfold(b.bars, s, &cut, 100).size(), 100U);
  EXPECT_TRUE(cut);
}

TEST(Presses, TiesAcrossABarlineAreOnePress) {
  Score s = blank(2, {"Organ"});
  add(s, 0, Rational{2}, Rational{2}, 60).tie_to = true;
  add(s, 1, Rational{}, Rational{1}, 60).tie_from = true;
  add(s, 1, Rational{1}, Rational{1}, 60);
  const auto p = presses(s);
  ASSERT_EQ(p.size(), 2U);
  EXPECT_EQ(p[0].start, Rational{2});
  EXPECT_EQ(p[0].end, Rational{5});
  EXPECT_THAT(p[0].notes, ElementsAre(0U, 1U));
  EXPECT_EQ(p[1].start, Rational{5});
}

TEST(Presses, ATieIntoTheSecondEndingIsHeldBothTimes) {
  Score s = blank(3, {"Organ"});
  s.turns = {{0, 1, Rational{}}, {1, 1, Rational{4}}, {0, 2, Rational{8}}, {2, 1, Rational{12}}};
  add(s, 0, Rational{}, Rational{4}, 60).tie_to = true;
  add(s, 1, Rational{}, Rational{4}, 60).tie_from = true;
  add(s, 2, Rational{}, Rational{4}, 60).tie_from = true;
  const auto p = presses(s);
  ASSERT_EQ(p.size(), 2U);
  EXPECT_EQ(p[0].end, Rational{8});
  EXPECT_EQ(p[1].start, Rational{8});
  EXPECT_EQ(p[1].end, Rational{16});
}

TEST(Presses, AnUnclosedTieEndsWithItsNote) {
  Score s = blank(2, {"Organ"});
  add(s, 0, Rational{}, Rational{4}, 60).tie_to = true;
  add(s, 1, Rational{}, Rational{4}, 60);
  EXPECT_EQ(presses(s).size(), 2U);
}

TEST(Presses, TwoVoicesOnOneKeyAreOnePress) {
  Score s = blank(1, {"Organ"});
  add(s, 0, Rational{}, Rational{1}, 60, 0, "1");
  add(s, 0, Rational{}, Rational{4}, 60, 0, "2");
  const auto p = presses(s);
  ASSERT_EQ(p.size(), 1U);
  EXPECT_EQ(p[0].end, Rational{4});
  EXPECT_EQ(p[0].notes.size(), 2U);
}

TEST(Presses, GraceNotesTakeALittleFromTheNoteTheyLeadTo) {
  Score s = blank(1, {"Organ"});
  for (int place = 0; place < 2; ++place) {
    WrittenNote& g = add(s, 0, Rational{1}, Rational{}, 62 + place);
    g.grace = true;
    g.grace_place = place;
  }
  add(s, 0, Rational{1}, Rational{1}, 60);
  const auto p = presses(s);
  ASSERT_EQ(p.size(), 3U);
  EXPECT_EQ(p[0].start, Rational{1});
  EXPECT_EQ(p[1].start, (Rational{9, 8}));
  EXPECT_EQ(p[2].start, (Rational{5, 4}));
  EXPECT_EQ(p[2].end, Rational{2});
}

// No music has such times, but files may: sums beyond 64 bits are rounded, and what then has no length is no press.
TEST(Presses, EndAfterTheyStartHoweverOddTheirTimes) {
  Score s = blank(1, {"Organ"});
  s.turns[0].start = Rational{1, 999'999'937} + Rational{1, 999'999'929};
  add(s, 0, Rational{}, Rational{1, 999'999'883}, 60);
  add(s, 0, Rational{}, Rational{1}, 64);
  const std::vector<Press> all = presses(s);
  ASSERT_EQ(all.size(), 1U);
  EXPECT_EQ(all[0].key.midi, 64);
  EXPECT_LT(all[0].start, all[0].end);
}

TEST(Presses, CueNotesAndOtherPlayersAreLeftOut) {
  Score s = blank(1, {"Organ", "Violin"});
  add(s, 0, Rational{}, Rational{1}, 60).cue = true;
  add(s, 0, Rational{}, Rational{1}, 72, 1);
  ASSERT_TRUE(assign_roles(s));
  EXPECT_THAT(presses(s), IsEmpty());
}

// Sixteen chords of four on two staves, the tenor meeting the bass on the third.
Score small_hymn() {
  Score s = blank(4, {"", ""});
  for (int bar = 0; bar < 4; ++bar) {
    for (int beat = 0; beat < 4; ++beat) {
      add(s, bar, Rational{beat}, Rational{1}, 67, 0);
      add(s, bar, Rational{beat}, Rational{1}, 72, 0);
      add(s, bar, Rational{beat}, Rational{1}, 48, 1);
      if (bar > 0 || beat != 2) add(s, bar, Rational{beat}, Rational{1}, 55, 1);
    }
  }
  EXPECT_TRUE(assign_roles(s));
  return s;
}

int count(const std::vector<Press>& p, Role r) {
  return static_cast<int>(std::count_if(p.begin(), p.end(), [&](const Press& x) { return x.role == r; }));
}

TEST(Hymn, BassToHandsFeetOrBoth) {
  Score s = small_hymn();
  EXPECT_TRUE(s.hymn);
  EXPECT_EQ(count(presses(s), Role::left_hand), 31);
  s.bass = Bass::feet;
  EXPECT_EQ(count(presses(s), Role::feet), 16);
  EXPECT_EQ(count(presses(s), Role::left_hand), 16);  // the tenor keeps the key it shares with the bass
  s.bass = Bass::both;
  EXPECT_EQ(count(presses(s), Role::feet), 16);
  EXPECT_EQ(count(presses(s), Role::left_hand), 31);
}

TEST(Hymn, APauseIsALineEnd) {
  Score s = small_hymn();
  for (WrittenNote& n : s.notes) n.fermata = n.bar == 1 && n.at == Rational{3} && n.note.midi == 72;
  find_lines(s);
  EXPECT_THAT(line_ends(s), ElementsAre(Rational{8}, Rational{16}));
  EXPECT_EQ(moment_at(s, Rational{7}).line, 1);
  EXPECT_EQ(moment_at(s, Rational{8}).line, 2);
  EXPECT_EQ(moment_at(s, Rational{16}).line, 2);
}

TEST(Hymn, LinesByMetre) {
  Score s = small_hymn();
  find_lines(s, {5, 3, 5, 3});
  EXPECT_THAT(line_ends(s), ElementsAre(Rational{5}, Rational{8}, Rational{13}, Rational{16}));
}

TEST(Hymn, UnknownLinesAreSaidToBe) {
  Score s = small_hymn();
  find_lines(s);
  EXPECT_THAT(line_ends(s), IsEmpty());
  EXPECT_THAT(s.remarks, ElementsAre(testing::HasSubstr("give its metre")));
}

TEST(Metre, AsHymnBooksPrintIt) {
  EXPECT_THAT(*parse_metre("8.6.8.6"), ElementsAre(8, 6, 8, 6));
  EXPECT_THAT(*parse_metre("87 87 D"), ElementsAre(8, 7, 8, 7, 8, 7, 8, 7));
  EXPECT_THAT(*parse_metre("C.M."), ElementsAre(8, 6, 8, 6));
  EXPECT_THAT(*parse_metre("CMD"), ElementsAre(8, 6, 8, 6, 8, 6, 8, 6));
  EXPECT_THAT(*parse_metre("10.10.11.11"), ElementsAre(10, 10, 11, 11));
  EXPECT_FALSE(parse_metre(""));
  EXPECT_FALSE(parse_metre("8.6.x"));
  EXPECT_FALSE(parse_metre("0.6"));
}

TEST(Roles, ByNameClefAndLayout) {
  Score three = blank(1, {"Manual I", "Manual II", "Pedal"});
  ASSERT_TRUE(assign_roles(three));
  EXPECT_EQ(three.staves[0].role, Role::right_hand);
  EXPECT_EQ(three.staves[1].role, Role::left_hand);
  EXPECT_EQ(three.staves[2].role, Role::feet);
  EXPECT_EQ(three.staves[2].role_reason, "named Pedal");

  Score unnamed = blank(1, {"", "", ""});
  unnamed.staves[2].clef = 'F';
  ASSERT_TRUE(assign_roles(unnamed));
  EXPECT_EQ(unnamed.staves[2].role, Role::feet);
  EXPECT_EQ(unnamed.staves[2].role_reason, "lowest of three staves, bass clef");

  Score french = blank(1, {"Récit", "Grand orgue", "Pédale"});
  ASSERT_TRUE(assign_roles(french));
  EXPECT_EQ(french.staves[2].role, Role::feet);

  Score organ = blank(1, {"Organ", "Organ", "Organ"});
  organ.staves[0].part = organ.staves[1].part = organ.staves[2].part = 0;
  organ.staves[1].number = 2;
  organ.staves[2].number = 3;
  organ.staves[2].clef = 'F';
  ASSERT_TRUE(assign_roles(organ));
  EXPECT_EQ(organ.staves[1].role, Role::left_hand);
  EXPECT_EQ(organ.staves[2].role, Role::feet);

  for (Stave& stave : organ.staves) stave.name = "Organ with pedal";
  ASSERT_TRUE(assign_roles(organ));
  EXPECT_EQ(organ.staves[0].role, Role::right_hand);
  EXPECT_EQ(organ.staves[2].role_reason, "named Organ with pedal");

  Score anthem = blank(1, {"Soprano", "Bass", "Organ", "Organ"});
  ASSERT_TRUE(assign_roles(anthem));
  EXPECT_EQ(anthem.staves[1].role, Role::not_played);
  EXPECT_EQ(anthem.staves[2].role, Role::right_hand);

  Score alto = blank(1, {"", "", ""});
  alto.staves[2].clef = 'G';
  ASSERT_TRUE(assign_roles(alto, {{1, Role::feet}}));
  EXPECT_EQ(alto.staves[1].role, Role::feet);
  EXPECT_EQ(alto.staves[1].role_reason, "as you said");
  EXPECT_FALSE(alto.remarks.empty());
  EXPECT_FALSE(assign_roles(alto, {{7, Role::feet}}));
}

TEST(Roles, ChoirIsAManualUnlessItSings) {
  Score s = blank(1, {"Swell", "Choir", "Pedal"});
  ASSERT_TRUE(assign_roles(s));
  EXPECT_EQ(s.staves[1].role, Role::left_hand);
  EXPECT_EQ(s.staves[2].role, Role::feet);
  s.staves[1].sung = true;
  ASSERT_TRUE(assign_roles(s));
  EXPECT_EQ(s.staves[1].role, Role::not_played);
}

TEST(Roles, OverridesAsTyped) {
  EXPECT_EQ(parse_role_override("3=feet")->stave, 2);
  EXPECT_EQ(parse_role_override("1=none")->role, Role::not_played);
  for (const char* bad : {"", "feet", "0=feet", "x=feet", "3=hands"}) EXPECT_FALSE(parse_role_override(bad)) << bad;
}

TEST(Time, WrittenAndPerformedAreLinked) {
  Score s = blank(2, {"Organ"});
  s.bars[1].label = "2a";
  s.turns = {{0, 1, Rational{}}, {1, 1, Rational{4}}, {1, 2, Rational{8}}};
  EXPECT_EQ(performed_length(s), Rational{12});
  const Moment m = moment_at(s, Rational{29, 3});
  EXPECT_EQ(m.bar, "2a");
  EXPECT_EQ(m.pass, 2);
  EXPECT_EQ(m.at, (Rational{5, 3}));
  EXPECT_EQ(performed_at(s, m), (Rational{29, 3}));
  EXPECT_EQ(words(m), "bar 2a, beat 2 2/3, second time");
  s.bars[1].beat_type = 8;
  EXPECT_EQ(words(s, m), "bar 2a, beat 4 1/3, second time");
  EXPECT_EQ(words(Moment{"3", 2, Rational{}, 1, 3, 2}), "v3, line 2");
  Moment gone = m;
  gone.pass = 3;
  EXPECT_FALSE(performed_at(s, gone));
}

TEST(Tempo, MarksAreFollowedThroughRepeats) {
  Score s = blank(2, {"Organ"});
  s.turns = {{0, 1, Rational{}}, {1, 1, Rational{4}}, {0, 2, Rational{8}}};
  Direction d;
  d.kind = Direction::Kind::tempo;
  d.quarters_per_minute = 60;
  s.directions.push_back(d);
  d.bar = 1;
  d.at = Rational{2};
  d.quarters_per_minute = 120;
  s.directions.push_back(d);
  const Tempo t(s, 90);
  EXPECT_FALSE(t.assumed());
  EXPECT_DOUBLE_EQ(t.at(Rational{6}).value(), 6.0);
  EXPECT_DOUBLE_EQ(t.at(Rational{8}).value(), 7.0);
  EXPECT_DOUBLE_EQ(t.at(Rational{12}).value(), 11.0);
  const Tempo slower(s, 90, 30.0);
  EXPECT_DOUBLE_EQ(slower.at(Rational{12}).value(), 22.0);
  s.directions.clear();
  EXPECT_TRUE(Tempo(s, 90).assumed());
  EXPECT_DOUBLE_EQ(Tempo(s, 90).at(Rational{3}).value(), 2.0);
}

}  // namespace
}  // namespace calcant
