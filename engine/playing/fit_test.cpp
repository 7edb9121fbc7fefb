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

// What stands in a stave's name, as editions of trio sonatas have it.
TEST(Fit, NamesOfStavesAreManuals) {
  Score s = by_hand::score(by_hand::line({60, 62}, Rational{1}, 1), staves);
  s.staves[0].name = "Manual I";
  s.staves[1].name = "II. Man.";
  s.staves[2].name = "Pedal";
  const OnKeyboards on(s, by_hand::village());
  EXPECT_EQ(on.at(0, Role::right_hand, Rational{}), KeyboardIndex{0});
  EXPECT_EQ(on.at(1, Role::left_hand, Rational{}), KeyboardIndex{1});
  EXPECT_EQ(on.reason(1), "named II. Man.");
  EXPECT_EQ(OnKeyboards(s, by_hand::village(), {{}, KeyboardIndex{0}}).reason(1), "as you said");
  const Fit f = fitted(s);
  EXPECT_EQ(f.manuals, (std::vector<std::string>{"manual I", "manual II"}));
  EXPECT_EQ(f.staves[1].keyboard, KeyboardIndex{1});
  s.staves[0].name = s.staves[1].name = "Manuals";
  EXPECT_TRUE(manual_words(s, by_hand::village()).empty());
}

Organ one_manual() {
  Organ o = by_hand::village();
  o.keyboards.erase(o.keyboards.begin() + 1);
  o.divisions[1].keyboard.reset();
  o.divisions[2].keyboard = 1;
  o.couplers.clear();
  return o;
}

// Two voices in one octave that strike each other's held keys, as the upper parts of a trio do.
std::vector<Played> trio() {
  std::vector<Played> notes;
  for (int bar = 0; bar < 8; ++bar) {
    notes.push_back({67, Rational{4 * bar}, Rational{3}, 0});
    for (Played p : by_hand::line({60, 67, 72, 67}, Rational{1}, 1)) {
      p.onset += Rational{4 * bar};
      notes.push_back(p);
    }
  }
  return notes;
}

TEST(Fit, TwoHandsOnOneManualInOneAnothersWay) {
  const Score s = by_hand::score(trio(), staves);
  const Fit one = fitted(s, one_manual());
  EXPECT_FALSE(one.fits);
  const auto found = of(one, FitKind::two_manuals);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].moment.at, Rational{1});
  EXPECT_EQ(found[0].note, Note{67});
  EXPECT_EQ(found[0].times, 16);  // each bar: G struck while held (beat 2), C above it (beat 3); G is free on beat 4
  EXPECT_THAT(found[0].message, HasSubstr("holds 8 times, and the hands cross 8 times"));

  // A console of two gives each hand its own, and says why; the user may overrule.
  const Fit two = fitted(s);
  EXPECT_TRUE(two.fits);
  EXPECT_EQ(two.staves[1].keyboard, KeyboardIndex{1});
  EXPECT_THAT(two.staves[1].reason, HasSubstr("same keys"));
  FitWishes together;
  together.keyboards = {KeyboardIndex{0}, KeyboardIndex{0}};
  const Fit overruled = fitted(s, by_hand::village(), default_player(), together);
  EXPECT_FALSE(overruled.fits);
  EXPECT_THAT(of(overruled, FitKind::two_manuals)[0].remedies, Contains(HasSubstr("--stave 2=swell")));
}

TEST(Fit, OneKeyForBothHandsNowAndThenIsToldAndPlayed) {
  std::vector<Played> notes = by_hand::line({72, 74, 76, 77, 79, 77, 76, 74, 72, 71, 72}, Rational{1}, 0);
  notes.push_back({60, Rational{0}, Rational{4}, 0});
  notes.push_back({60, Rational{2}, Rational{1}, 1});
  const Fit f = fitted(by_hand::score(notes, staves), one_manual());
  EXPECT_TRUE(f.fits);
  ASSERT_EQ(of(f, FitKind::same_key).size(), 1U);
  EXPECT_THAT(of(f, FitKind::same_key)[0].message, HasSubstr("left hand strikes C4 while the right hand holds it"));
}

TEST(Fit, TwoManualsMayBeAskedForInWords) {
  for (const std::string title : {"Trio a 2 Clav. e Pedale", "For two manuals and pedal", "à deux claviers"}) {
    Score s = by_hand::score(by_hand::line({60}, Rational{4}, 0), staves);
    s.title = title;
    EXPECT_TRUE(asks_for_two_manuals(s)) << title;
  }
  Score s = by_hand::score(by_hand::line({60}, Rational{4}, 0), staves);
  s.title = "Two voluntaries for manuals";
  EXPECT_FALSE(asks_for_two_manuals(s));
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

bool says(const FitFinding& f, const std::string& way) {
  return std::any_of(f.remedies.begin(), f.remedies.end(),
                     [&](const std::string& r) { return r.find(way) != std::string::npos; });
}

// A span is that of all a hand holds: what it struck before and holds on counts with what it strikes now.
TEST(Fit, HeldNotesCountInTheSpan) {
  const std::vector<Played> held{{48, Rational{0}, Rational{4}, 1},
                                 {55, Rational{1}, Rational{1}, 1},
                                 {65, Rational{2}, Rational{1}, 1},
                                 {72, Rational{0}, Rational{4}, 0}};
  const auto found = of(fitted(by_hand::score(held, staves)), FitKind::wide_stretch);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].moment.at, Rational{2});  // where F4 comes to the held C3, not before
  EXPECT_THAT(found[0].message, HasSubstr("2 keys over 17 semitones"));
  EXPECT_TRUE(says(found[0], "Let the right hand take F4."));
  EXPECT_TRUE(says(found[0], "Let C3 go when the new notes come."));
  EXPECT_FALSE(says(found[0], "Break the chord"));  // F4 is struck alone
  std::vector<Played> left = held;
  left[0].length = Rational{2};  // let go in time
  EXPECT_TRUE(of(fitted(by_hand::score(left, staves)), FitKind::wide_stretch).empty());
}

// What is advised can be done: the other hand reaches what it is to take, and only a doubled note is left out.
TEST(Fit, RemediesOfAStretchCanBeDone) {
  const auto one = [](std::vector<Played> notes, const Organ& o) {
    const auto found = of(fitted(by_hand::score(notes, staves), o), FitKind::wide_stretch);
    EXPECT_EQ(found.size(), 1U);
    return found.empty() ? FitFinding{} : found.front();
  };
  // The right hand spans C5 to C6 already: it cannot come down to E4, nor is anything doubled in E flat and G.
  const std::vector<Played> far{{51, Rational{0}, Rational{4}, 1},
                                {64, Rational{0}, Rational{4}, 1},
                                {73, Rational{0}, Rational{4}, 0},
                                {85, Rational{0}, Rational{4}, 0}};
  const FitFinding f = one(far, by_hand::village());
  EXPECT_FALSE(says(f, "the right hand take"));
  EXPECT_FALSE(says(f, "Leave out"));
  EXPECT_TRUE(says(f, "Let the feet take Eb3, which rest here, with Great to Pedal.") ||
              says(f, "Let the feet take D#3, which rest here, with Great to Pedal."));
  EXPECT_TRUE(says(f, "Break the chord."));
  // Without a coupler the feet cannot.
  Organ uncoupled = by_hand::village();
  uncoupled.couplers.clear();
  EXPECT_FALSE(says(one(far, uncoupled), "the feet take"));
  // With a pedal note sounding they are not free.
  std::vector<Played> busy = far;
  busy.push_back({43, Rational{0}, Rational{4}, 2});
  EXPECT_FALSE(says(one(busy, by_hand::village()), "the feet take"));
  // A doubled outer note may go.
  const FitFinding octave = one({{48, Rational{0}, Rational{4}, 1},
                                 {60, Rational{0}, Rational{4}, 1},
                                 {62, Rational{0}, Rational{4}, 1},
                                 {74, Rational{0}, Rational{4}, 0},
                                 {86, Rational{0}, Rational{4}, 0}},
                                by_hand::village());
  EXPECT_TRUE(says(octave, "Leave out C3: the same note sounds in another octave."));
}

TEST(Fit, RemediesOfAThirdHandCanBeDone) {
  std::vector<Played> notes;
  for (const int m : {36, 60, 84}) notes.push_back({m, Rational{0}, Rational{4}, m < 70 ? 1 : 0});
  const auto plain = of(fitted(by_hand::score(notes, staves)), FitKind::third_hand);
  ASSERT_EQ(plain.size(), 1U);
  EXPECT_TRUE(says(plain[0], "Let the feet take C2, which rest here, with Great to Pedal."));
  EXPECT_TRUE(says(plain[0], "Leave out C2"));  // three Cs
  // Three manuals at once are played by putting two staves on one.
  Organ three = by_hand::village();
  three.keyboards.push_back(three.keyboards[1]);
  three.keyboards.back().id = "choir";
  FitWishes w;
  w.keyboards = {KeyboardIndex{0}, KeyboardIndex{1}, KeyboardIndex{3}};
  const Score apart = by_hand::score(
      {{72, Rational{0}, Rational{4}, 0}, {60, Rational{0}, Rational{4}, 1}, {64, Rational{0}, Rational{4}, 2}},
      {Role::right_hand, Role::left_hand, Role::either_hand});
  const auto found = of(fitted(apart, three, default_player(), w), FitKind::third_hand);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_THAT(found[0].message, HasSubstr("on 3 manuals at once"));
  EXPECT_EQ(found[0].remedies, (std::vector<std::string>{"Play two of these staves on one manual."}));
}

TEST(Fit, RemediesForDeadNotesCanBeDone) {
  Organ o = by_hand::village();
  o.dead[0].insert(60 - 36 + 1);  // Open Diapason, middle C
  const Score s = by_hand::score(by_hand::line({60, 62}, Rational{1}, 0), staves);
  auto found = of(fitted(s, o), FitKind::dead_note);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].remedies,
            (std::vector<std::string>{"Play the passage on the Swell.", "Do without Open Diapason 8."}));
  // One manual has no other to go to; a second 8 ft helps unless its own C is dead.
  Organ one = one_manual();
  one.dead[0].insert(60 - 36 + 1);
  found = of(fitted(s, one), FitKind::dead_note);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].remedies, (std::vector<std::string>{"Do without Open Diapason 8."}));
  one.stops[1].division = 0;  // the Gedact, moved to the Great
  one.chests[static_cast<std::size_t>(one.ranks[1].chest)].division = 0;
  EXPECT_TRUE(says(of(fitted(s, one), FitKind::dead_note).front(), "Draw Gedact 8 instead."));
  one.dead[1].insert(60 - 36 + 1);
  for (const FitFinding& f : of(fitted(s, one), FitKind::dead_note)) EXPECT_FALSE(says(f, "instead"));
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

// The Open Diapason's dead C is wanted from the Great's keys, from the pedals by their coupler, and (borrowed an octave
// lower) by another stop: each way is told, and how often.
TEST(Fit, DeadNotesByEveryRoute) {
  Organ o = by_hand::village();
  o.dead[0].insert(60 - 36 + 1);
  StopPart lent;
  lent.rank = 0;
  lent.step = 12;  // a 4 ft drawn from the 8 ft rank
  lent.to = Note{79};
  Stop octave = o.stops[0];
  octave.id = "gt-octave-4";
  octave.name = "Octave";
  octave.feet = {Feet{Rational{4}}};
  octave.parts = {lent};
  o.stops.push_back(octave);
  std::vector<Played> notes = by_hand::line({60, 62, 60, 48}, Rational{1}, 0);
  for (const Played& p : by_hand::line({60, 60, 48, 60}, Rational{1}, 2)) notes.push_back(p);
  const auto found = of(fitted(by_hand::score(notes, staves), o), FitKind::dead_note);
  ASSERT_EQ(found.size(), 2U);
  EXPECT_THAT(found[0].message, HasSubstr("C4 of Open Diapason 8"));
  EXPECT_THAT(found[0].message, HasSubstr("wants it 2 times, 3 times more through Great to Pedal"));
  EXPECT_TRUE(found[0].if_drawn);
  EXPECT_THAT(found[1].message, HasSubstr("C4 of Octave 4"));
  EXPECT_THAT(found[1].message, HasSubstr("wants it once, once more through Great to Pedal"));
}

TEST(Fit, CouplersThatWouldRunOutAreToldWithoutARegistration) {
  FitWishes w;
  w.keyboards = {KeyboardIndex{1}};
  const Score s = by_hand::score(by_hand::line({60, 79, 84, 91}, Rational{1}, 0), staves);
  const auto found = of(fitted(s, by_hand::village(), default_player(), w), FitKind::coupler_runs_out);
  ASSERT_EQ(found.size(), 1U);  // Swell Octave: the ranks end at G5, so keys above G4 have no octave
  EXPECT_EQ(found[0].times, 2);
  EXPECT_TRUE(found[0].if_drawn);
  EXPECT_THAT(found[0].message, HasSubstr("Swell Octave brings nothing for keys from C6 to G6"));
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
  EXPECT_EQ(found[0].times, 3);
  EXPECT_THAT(found[0].message, HasSubstr("G2 and G3: each foot has one"));
  EXPECT_TRUE(says(found[0], "Let the left hand take G3 on the Great"));  // it rests
  EXPECT_TRUE(says(found[0], "Leave out G3, which doubles the lower one."));
  std::vector<Played> full = notes;
  for (const int m : {72, 84}) full.push_back({m, Rational{0}, Rational{3}, 1});
  for (const int m : {76, 88}) full.push_back({m, Rational{0}, Rational{3}, 0});
  EXPECT_FALSE(says(of(fitted(by_hand::score(full, staves)), FitKind::double_pedal).front(), "hand take"));
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
  const auto found = of(fitted(busy), FitKind::swell_and_feet);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_FALSE(says(found[0], "where the feet rest"));  // they never do
  // What the left foot can take alone, as the plan has it do, is not said to be out of reach.
  EXPECT_THAT(found[0].message, HasSubstr("awkward, and possible"));
  std::vector<Played> later = by_hand::line({43, 62, 45, 64, 47, 65, 43, 62}, Rational{1, 2}, 2);
  later.push_back({43, Rational{6}, Rational{2}, 2});
  Score rests = by_hand::score(later, staves);
  rests.directions = busy.directions;
  EXPECT_TRUE(says(of(fitted(rests), FitKind::swell_and_feet).front(), "where the feet rest, from bar 2, beat 1"));
  Score still = by_hand::score({{43, Rational{0}, Rational{4}, 2}}, staves);
  still.directions = busy.directions;
  EXPECT_TRUE(of(fitted(still), FitKind::swell_and_feet).empty());
  busy.directions.clear();
  say(busy, 0, 0, "poco cresc.");
  EXPECT_EQ(of(fitted(busy), FitKind::swell_and_feet).size(), 1U);
}

// Running sixteenths have no breath: the octave is changed at bars or after longer notes, not for the whole piece.
TEST(Fit, RunningMusicIsCutAtABar) {
  std::vector<int> midi(64, 84);
  midi[34] = 93;
  const auto found =
      of(fitted(by_hand::score(by_hand::line(midi, Rational{1, 2}, 0), staves)), FitKind::outside_keyboard);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_THAT(found[0].remedies,
              Contains(HasSubstr("the phrase (bar 5, beat 1 to bar 5, beat 4 1/2) an octave lower")));
  EXPECT_THAT(found[0].remedies, Contains(HasSubstr("no breath is near")));
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
