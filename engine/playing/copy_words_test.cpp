// Registration as English and American copies print it, against what a player takes it for (common practice, no source).
#include "engine/playing/copy_words.hpp"

#include <gtest/gtest.h>

#include "engine/playing/by_hand_test.hpp"

namespace calcant {
namespace {

std::vector<CopyWord> said(const std::string& text) {
  Score s = by_hand::score(by_hand::line({60, 62}, Rational{4}, 0), {Role::right_hand, Role::left_hand});
  Direction d;
  d.bar = 1;
  d.at = Rational{2};
  d.text = text;
  s.directions.push_back(d);
  return copy_words(s, by_hand::village());
}

struct Case {
  std::string text;
  CopyKind kind;
  std::string wanted;
  bool here;
};

TEST(CopyWords, AreReadAsAPlayerDoes) {
  using K = CopyKind;
  for (const Case& c :
       {Case{"Gt. to Ped.", K::coupler_on, "Great to Pedal drawn", true},
        Case{"Gt. to Ped. off", K::coupler_off, "Great to Pedal put in", true},
        Case{"Swell to Great", K::coupler_on, "Swell to Great drawn", true},
        Case{"couple Sw. to Gt.", K::coupler_on, "Swell to Great drawn", true},
        Case{"Sw. to Ped.", K::coupler_on, "Swell to Pedal drawn", false},
        Case{"Ch. to Gt.", K::coupler_on, "Choir to Great drawn", false},
        Case{"Sw. closed", K::box, "the Swell box shut", true},
        Case{"Sw. box open", K::box, "the Swell box open", true}, Case{"box shut", K::box, "the Swell box shut", true},
        Case{"Full Swell", K::level, "the Swell full", true}, Case{"Full Ch.", K::level, "the Choir full", false},
        Case{"Full Organ", K::level, "the full organ", true},
        Case{"Gt. to Fifteenth", K::level, "the Great drawn up to the fifteenth", false},
        Case{"add Sw. Gemshorn 4", K::add, "Swell gemshorn 4 drawn", true},
        Case{"add Reeds", K::add, "reeds drawn", false}, Case{"Diapasons off", K::put_in, "diapasons put in", true},
        Case{"Ch./Sw.", K::unclear, "Choir coupled to Swell, or a hand on each", false},
        Case{"Sw. coupled", K::unclear, "a coupler, without saying which", false}}) {
    const auto found = said(c.text);
    ASSERT_EQ(found.size(), 1U) << c.text;
    EXPECT_EQ(found[0].kind, c.kind) << c.text;
    EXPECT_EQ(found[0].wanted, c.wanted) << c.text;
    EXPECT_EQ(found[0].here, c.here) << c.text;
    EXPECT_EQ(found[0].moment.bar, "2");
  }
}

// A manual, a stop without its manual, and what the music does in time are other people's to read.
TEST(CopyWords, WhatIsNoRegistrationIsLeft) {
  for (const char* text : {"Gt.", "Sw. solo", "Swell expressive", "Oboe", "cresc.", "a tempo", "Andante con moto",
                           "dim. to the end", "Great joy, 8 bars", "", " , ; "}) {
    EXPECT_TRUE(said(text).empty()) << text;
  }
}

TEST(CopyWords, OneTextMaySaySeveralThings) {
  const auto found = said("Sw. to Gt., Gt. to Ped. off; box closed");
  ASSERT_EQ(found.size(), 3U);
  EXPECT_EQ(found[0].coupler, CouplerIndex{0});
  EXPECT_EQ(found[1].coupler, CouplerIndex{2});
  EXPECT_EQ(found[1].text, "Gt. to Ped. off");
  EXPECT_EQ(found[2].open, 0.0);
  EXPECT_EQ(words(by_hand::village(), found[0]), "\"Sw. to Gt.\" wants Swell to Great drawn: this organ has it.");
}

// Stops by name, by family and by pitch; where a division has none called so one of its kind and pitch serves (common
// practice, no source).
TEST(CopyWords, NameStops) {
  using K = CopyKind;
  Organ o = by_hand::village();
  o.stops[1].family = Family::flute;
  struct Drawn {
    std::string text;
    K kind;
    std::string told;
    std::vector<std::vector<StopIndex>> stops;
  };
  for (const Drawn& c : {
           Drawn{"Gt. Open Diapason", K::stops, "wants Great open diapason drawn: this organ has it.", {{0}}},
           Drawn{"Sw. Gedact 8, Flute 4",
                 K::stops,
                 "wants Swell gedact 8 and flute 4 drawn: this organ has Gemshorn 4 for the flute 4.",
                 {{1}, {2}}},
           Drawn{"Sw. Gedact and Oboe",
                 K::stops,
                 "wants Swell gedact and oboe drawn: this organ has no oboe there.",
                 {{1}, {}}},
           Drawn{"Sw. 8 & 4 ft", K::stops, "wants Swell 8 and 4 drawn: this organ has it.", {{1}, {2}}},
           Drawn{"Sw. Principal 4",
                 K::stops,
                 "wants Swell principal 4 drawn: this organ has Gemshorn 4 for the principal 4.",
                 {{2}}},
           Drawn{"Sw. Oboe, solo", K::stops, "wants Swell oboe drawn: not on this organ.", {{}}},
           Drawn{"Ped. 16", K::stops, "wants Pedal 16 drawn: this organ has it.", {{3}}},
           Drawn{"Ch. Clarinet", K::stops, "wants Choir clarinet drawn: not on this organ.", {{}}},
           Drawn{"Gt. Diapasons", K::stops, "wants Great diapasons drawn: this organ has it.", {{0}}},
           Drawn{"Full Swell", K::level, "wants the Swell full: this organ has it.", {{1}, {2}}},
           Drawn{
               "Sw. to Gemshorn", K::level, "wants the Swell drawn up to the gemshorn: this organ has it.", {{1}, {2}}},
       }) {
    Score s = by_hand::score(by_hand::line({60, 62}, Rational{4}, 0), {Role::right_hand, Role::left_hand});
    Direction d;
    d.text = c.text;
    s.directions.push_back(d);
    const auto found = copy_words(s, o);
    ASSERT_EQ(found.size(), 1U) << c.text;
    EXPECT_EQ(found[0].kind, c.kind) << c.text;
    EXPECT_NE(words(o, found[0]).find(c.told), std::string::npos) << words(o, found[0]);
    std::vector<std::vector<StopIndex>> stops;
    for (const CopyStop& stop : found[0].stops) stops.push_back(stop.stops);
    EXPECT_EQ(stops, c.stops) << c.text;
  }
}

}  // namespace
}  // namespace calcant
