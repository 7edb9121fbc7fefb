#include "engine/playing/fit.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "engine/playing/by_hand_test.hpp"
#include "engine/playing/manuals.hpp"

namespace calcant {
namespace {

using by_hand::Played;
using testing::Contains;
using testing::HasSubstr;
const std::vector<Role> staves{Role::right_hand, Role::left_hand, Role::feet};

Fit fitted(const Score& s, const Organ& o = by_hand::village(), const Player& p = default_player(), FitWishes w = {}) {
  return fit(s, o, p, Tempo(s, 80), w);
}
std::vector<FitFinding> of(const Fit& f, FitKind k) {
  std::vector<FitFinding> out;
  for (const FitFinding& x : f.findings) {
    if (x.kind == k) out.push_back(x);
  }
  return out;
}
void say(Score& s, int bar, int stave, const std::string& text) {
  Direction d;
  d.bar = bar;
  d.stave = stave;
  d.text = text;
  s.directions.push_back(d);
}

TEST(Fit, WhatFitsFits) {
  std::vector<Played> notes = by_hand::line({72, 74, 76, 77}, Rational{1}, 0);
  for (const Played& p : by_hand::line({48, 50, 52, 53}, Rational{1}, 2)) notes.push_back(p);
  const Fit f = fitted(by_hand::score(notes, staves));
  EXPECT_TRUE(f.fits);
  EXPECT_TRUE(f.findings.empty());
}

// Compass 56 notes, CC to G (RCO 1881 and 1903 by way of The Etude, May 1903): A above is not there.
TEST(Fit, ANoteOutsideTheManualIsToldWithBarBeatNoteAndRemedies) {
  std::vector<Played> notes = by_hand::line({86, 88, 91, 93, 91, 88}, Rational{1}, 0);
  const Fit f = fitted(by_hand::score(notes, staves));
  EXPECT_FALSE(f.fits);
  const auto found = of(f, FitKind::outside_keyboard);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].note, Note{93});
  EXPECT_EQ(found[0].moment.bar, "1");
  EXPECT_EQ(found[0].moment.at, Rational{3});
  EXPECT_THAT(found[0].remedies, Contains(HasSubstr("an octave lower")));
  EXPECT_THAT(found[0].remedies, Contains(HasSubstr("Leave it out")));
}

TEST(Fit, TheOctaveTransferKeepsToThePhrase) {
  // Two phrases with a rest between; only the second goes too high. The Swell has a 4 ft stop and an octave coupler.
  std::vector<Played> notes = by_hand::line({60, 62, 64}, Rational{1}, 0);
  for (Played p : by_hand::line({88, 91, 93, 91}, Rational{1}, 0)) {
    p.onset += Rational{4};
    notes.push_back(p);
  }
  FitWishes w;
  w.keyboards = {KeyboardIndex{1}};
  const auto found =
      of(fitted(by_hand::score(notes, staves), by_hand::village(), default_player(), w), FitKind::outside_keyboard);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_THAT(found[0].remedies, Contains(HasSubstr("(bar 2, beat 1 to bar 2, beat 4)")));
  EXPECT_THAT(found[0].remedies, Contains(HasSubstr("Gemshorn 4")));
  EXPECT_THAT(found[0].remedies, Contains(HasSubstr("Swell Octave")));
}

// Pedalboards of 25, 27, 30 and 32 notes end at C4, D4, F4 and G4; BWV 600 asks for F4 (reference, section 7).
TEST(Fit, PedalNotesAboveTheBoard) {
  const Score s = by_hand::score(by_hand::line({53, 60, 62, 65}, Rational{1}, 2), staves);
  const auto fails = [&](int top) {
    Organ o = by_hand::village();
    o.keyboards[2].keys = NoteSet::range(36, top);
    return of(fitted(s, o), FitKind::outside_pedals).size();
  };
  EXPECT_EQ(fails(60), 2U);
  EXPECT_EQ(fails(62), 1U);
  EXPECT_EQ(fails(65), 0U);
  EXPECT_EQ(fails(67), 0U);
}

TEST(Fit, AShortOctaveIsASetOfKeysNotARange) {
  Organ o = by_hand::village();
  o.keyboards[0].keys.erase(37);
  const auto found =
      of(fitted(by_hand::score(by_hand::line({36, 37, 38}, Rational{1}, 1), staves), o), FitKind::outside_keyboard);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_THAT(found[0].message, HasSubstr("has no such key"));
}

TEST(Fit, ManualsAskedForAndPresent) {
  Score s = by_hand::score(by_hand::line({60, 62, 64, 65, 67, 69, 71, 72}, Rational{1}, 0), staves);
  say(s, 0, 0, "Sw. Oboe");
  say(s, 1, 0, "Ch. Flutes");
  const auto words = manual_words(s, by_hand::village());
  ASSERT_EQ(words.size(), 2U);
  EXPECT_EQ(words[0].keyboard, KeyboardIndex{1});
  EXPECT_FALSE(words[1].keyboard);
  const Fit f = fitted(s);
  ASSERT_EQ(of(f, FitKind::manual_missing).size(), 1U);
  EXPECT_THAT(of(f, FitKind::manual_missing)[0].message, HasSubstr("Choir"));
}

TEST(Fit, CouplerWordsSendNobodyToAnotherManual) {
  for (const std::string text : {"Sw. to Gt.", "add Sw.", "Gt. coupled", "+ Sw.", "Ped. 16.8", "I love thee"}) {
    Score s = by_hand::score(by_hand::line({60}, Rational{4}, 0), staves);
    say(s, 0, 0, text);
    EXPECT_TRUE(manual_words(s, by_hand::village()).empty()) << text;
  }
  for (const std::string text : {"Man. II", "II", "Récit", "Swell 8", "Sw.", "Gt. to Ped. in, Sw."}) {
    Score s = by_hand::score(by_hand::line({60}, Rational{4}, 0), staves);
    say(s, 0, 0, text);
    const auto words = manual_words(s, by_hand::village());
    ASSERT_EQ(words.size(), 1U) << text;
    EXPECT_EQ(words[0].keyboard, KeyboardIndex{1}) << text;
  }
}

TEST(Fit, HandsOnTwoManualsAreApart) {
  Score s = by_hand::score(by_hand::line({60, 62, 64, 65, 67, 69, 71, 72}, Rational{1}, 0), staves);
  say(s, 1, 0, "Sw.");
  const OnKeyboards k(s, by_hand::village());
  EXPECT_EQ(k.apart(s), (std::vector<std::pair<Rational, Rational>>{{Rational{4}, Rational{8}}}));
}

TEST(Fit, StretchesBeyondThePlayersSpan) {
  const Score tenth = by_hand::score(
      {{48, Rational{0}, Rational{4}, 1}, {64, Rational{0}, Rational{4}, 1}, {72, Rational{0}, Rational{4}, 0}},
      staves);
  const Fit f = fitted(tenth);
  ASSERT_EQ(of(f, FitKind::wide_stretch).size(), 1U);
  EXPECT_TRUE(f.fits);  // the right hand can take the upper note
  EXPECT_THAT(of(f, FitKind::wide_stretch)[0].remedies, Contains(HasSubstr("the right hand take E4")));
  Player large = default_player();
  large.left.comfortable = large.left.most = given(16, "own");
  EXPECT_TRUE(fitted(tenth, by_hand::village(), large).findings.empty());
}

TEST(Fit, AThirdHand) {
  std::vector<Played> notes;
  for (const int m : {36, 60, 84}) notes.push_back({m, Rational{0}, Rational{4}, m < 70 ? 1 : 0});
  const Fit f = fitted(by_hand::score(notes, staves));
  EXPECT_FALSE(f.fits);
  ASSERT_EQ(of(f, FitKind::third_hand).size(), 1U);
}

TEST(Fit, DeadNotesOfTheDayAndHowOftenTheyAreWanted) {
  Organ o = by_hand::village();
  o.dead[0].insert(60 - 36 + 1);  // Open Diapason, middle C
  const Score s = by_hand::score(by_hand::line({60, 62, 60, 64, 60}, Rational{1}, 0), staves);
  const Fit f = fitted(s, o);
  const auto found = of(f, FitKind::dead_note);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].times, 3);
  EXPECT_EQ(found[0].note, Note{60});
  EXPECT_THAT(found[0].message, HasSubstr("Open Diapason 8"));
  FitWishes w;
  w.drawn = Registration{};
  w.drawn->stops.set(1);  // the Gedact alone: nothing dead is asked for
  EXPECT_TRUE(of(fitted(s, o, default_player(), w), FitKind::dead_note).empty());
}

TEST(Fit, CouplersThatRunOutOfPipes) {
  FitWishes w;
  w.drawn = Registration{};
  w.drawn->stops.set(1);
  w.drawn->couplers.set(1);  // Swell Octave: an octave more than the Gedact has pipes
  w.keyboards = {KeyboardIndex{1}};
  const Score s = by_hand::score(by_hand::line({60, 79, 84, 91}, Rational{1}, 0), staves);
  const Fit f = fitted(s, by_hand::village(), default_player(), w);
  const auto found = of(f, FitKind::coupler_runs_out);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_THAT(found[0].message, HasSubstr("C6 to G6"));
  EXPECT_TRUE(f.fits);
}

TEST(Fit, DoublePedalIsToldOnceAPassage) {
  std::vector<Played> notes;
  for (int i = 0; i < 3; ++i) {
    notes.push_back({43, Rational{i}, Rational{1}, 2});
    notes.push_back({55, Rational{i}, Rational{1}, 2});
  }
  const Score s = by_hand::score(notes, staves);
  const auto found = of(fitted(s), FitKind::double_pedal);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_FALSE(found[0].hinders);
  Player left = default_player();
  left.feet = FeetStyle::left_foot_only;
  EXPECT_FALSE(fitted(s, by_hand::village(), left).fits);
}

TEST(Fit, TheSwellPedalAgainstABusyFoot) {
  Score busy = by_hand::score(by_hand::line({43, 62, 45, 64, 47, 65, 43, 62}, Rational{1, 2}, 2), staves);
  const auto wedge = [](Score& s, Direction::Kind k, Rational at) {
    Direction d;
    d.kind = k;
    d.at = at;
    s.directions.push_back(d);
  };
  wedge(busy, Direction::Kind::wedge_opens, Rational{0});
  wedge(busy, Direction::Kind::wedge_ends, Rational{3});
  EXPECT_EQ(of(fitted(busy), FitKind::swell_and_feet).size(), 1U);
  Score still = by_hand::score({{43, Rational{0}, Rational{4}, 2}}, staves);
  still.directions = busy.directions;
  EXPECT_TRUE(of(fitted(still), FitKind::swell_and_feet).empty());
}

TEST(Fit, NoPedals) {
  Organ o = by_hand::village();
  o.keyboards.pop_back();
  const Fit f = fitted(by_hand::score(by_hand::line({43, 45}, Rational{1}, 2), staves), o);
  EXPECT_FALSE(f.fits);
  ASSERT_EQ(f.findings.size(), 1U);
  EXPECT_EQ(f.findings[0].kind, FitKind::no_pedals);
}

}  // namespace
}  // namespace calcant
