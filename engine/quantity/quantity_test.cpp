#include <gtest/gtest.h>

#include <vector>

#include "engine/quantity/note.hpp"
#include "engine/quantity/note_set.hpp"
#include "engine/quantity/random.hpp"
#include "engine/quantity/rational.hpp"
#include "engine/quantity/sourced.hpp"
#include "engine/quantity/typed.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {
namespace {

TEST(Units, IntervalsAndWaterColumns) {
  EXPECT_DOUBLE_EQ(interval(Hertz{220}, Hertz{440}).value(), 1200.0);
  EXPECT_NEAR(interval(Hertz{3}, Hertz{2}).value(), -701.955, 5e-4);  // pure fifth: arithmetic
  EXPECT_NEAR(moved(Hertz{440}, Cents{100}).value(), 466.1638, 1e-4);
  // 3 in of water = 747.3 Pa (reference table of wind pressures, computed from 9.80665 Pa a millimetre)
  EXPECT_NEAR(inches_of_water(3).value(), 747.27, 0.01);
  EXPECT_NEAR(in_millimetres_of_water(Pascals{735.5}), 75.0, 0.01);
}

TEST(Rational, ExactSums) {
  EXPECT_EQ(Rational(1, 3) + Rational(1, 6), Rational(1, 2));
  EXPECT_EQ(Rational(3, -6), Rational(-1, 2));
  EXPECT_LT(Rational(1, 3), Rational(2, 5));
  EXPECT_EQ(to_string(Rational(7, 3)), "7/3");
  EXPECT_EQ(parse_rational("-7/3").value(), Rational(-7, 3));
  for (const char* bad : {"", "1/0", "1/", "a", "1/2/3", "1.5"}) EXPECT_FALSE(parse_rational(bad)) << bad;
}

TEST(Rational, NeverOverflows) {
  Rational r{1, 1'000'003};
  for (int i = 0; i < 50; ++i) r += Rational{1, 1'000'003 + 2 * i};
  EXPECT_NEAR(r.to_double(), 51e-6, 50 * 0x1.0p-21);  // each sum may be rounded to 1/2^20
}

TEST(Note, NamesAndBack) {
  EXPECT_EQ(name(Note{60}), "C4");
  EXPECT_EQ(name(Note{42}), "F#2");
  EXPECT_EQ(name(Note{36}, NoteStyle::helmholtz), "C");
  EXPECT_EQ(name(Note{48}, NoteStyle::helmholtz), "c");
  EXPECT_EQ(name(Note{60}, NoteStyle::helmholtz), "c1");
  EXPECT_EQ(name(Note{36}, NoteStyle::english), "CC");
  EXPECT_EQ(name(Note{56}, NoteStyle::english), "tenor G sharp");
  for (int midi = 0; midi <= highest_midi; ++midi) EXPECT_EQ(parse_note(name(Note{midi})).value().midi, midi);
  EXPECT_EQ(parse_note("Bb3").value().midi, 58);
  for (const char* bad : {"", "C", "H4", "C44", "C#", "4C", "C###4"}) EXPECT_FALSE(parse_note(bad)) << bad;
  for (int midi = 24; midi <= highest_midi; ++midi)
    EXPECT_EQ(parse_spoken_note(name(Note{midi}, NoteStyle::english)).value().midi, midi);
  for (const auto& [said, midi] : std::initializer_list<std::pair<const char*, int>>{{"F sharp 3", 54},
                                                                                     {"F♯3", 54},
                                                                                     {"bottom C", 36},
                                                                                     {"Tenor c", 48},
                                                                                     {"FF sharp", 42},
                                                                                     {"CCC", 24},
                                                                                     {"B flat 3", 58},
                                                                                     {"c'", 60},
                                                                                     {"b flat''", 82},
                                                                                     {"bb'", 70},
                                                                                     {"E-1", 4}})
    EXPECT_EQ(parse_spoken_note(said).value_or(Note{0}).midi, midi) << said;
  for (const char* bad :
       {"", "C", "c", "tenor", "tenor CC", "cc", "middle H", "C sharply 3", "C'", "CCCC", "tenor C 3", "sharp"})
    EXPECT_FALSE(parse_spoken_note(bad)) << bad;
}

TEST(Feet, HarmonicsOfTheSeries) {
  // Lengths and semitones of the harmonic series: Miller 1913 ch. X (lengths); semitones are arithmetic.
  const std::vector<std::pair<const char*, int>> rows{{"16", -12},   {"8", 0},  {"5 1/3", 7},  {"4", 12},
                                                      {"2 2/3", 19}, {"2", 24}, {"1 3/5", 28}, {"1 1/3", 31},
                                                      {"1 1/7", 34}, {"1", 36}};
  for (const auto& [text, semitones] : rows) {
    const auto f = parse_feet(text);
    ASSERT_TRUE(f) << text;
    EXPECT_EQ(f->semitones(), semitones) << text;
    EXPECT_EQ(to_string(*f), text);
  }
  EXPECT_EQ(parse_feet("2-2/3'").value().harmonic(), Rational{3});
  EXPECT_EQ(parse_feet("2⅔ ft").value().harmonic(), Rational{3});
  EXPECT_TRUE(parse_feet("32").value().is_octave());
  EXPECT_FALSE(parse_feet("5 1/3").value().is_octave());
  for (const char* bad : {"", "0", "-8", "8 8", "eight", "100", "2 3/2", "8.5"}) EXPECT_FALSE(parse_feet(bad)) << bad;
}

TEST(NoteSet, ShiftsAgainstOneByOne) {
  Random random{7};
  for (int round = 0; round < 500; ++round) {
    NoteSet set;
    for (int i = 0; i < 20; ++i) set.insert(random.below(128));
    const int by = random.below(280) - 140;
    NoteSet slow;
    for (int i = 0; i < 128; ++i) {
      if (set.contains(i) && i + by >= 0 && i + by < 128) slow.insert(i + by);
    }
    EXPECT_EQ(set.shifted(by), slow) << by;
    std::vector<int> members;
    for (const int i : set) members.push_back(i);
    EXPECT_EQ(static_cast<int>(members.size()), set.size());
    EXPECT_EQ(members.front(), set.lowest());
    EXPECT_EQ(members.back(), set.highest());
  }
}

TEST(Sourced, WhoReplacesWhom) {
  const Sourced<double> assumption = assumed(1.0, "rank of its kind");
  Sourced<double> old_measurement{2.0, Source::measured, 0.5, "2025-04-01", "run", "14 C"};
  Sourced<double> new_measurement{3.0, Source::measured, 0.5, "2026-04-01", "run", "15 C"};
  EXPECT_TRUE(replaces(old_measurement, assumption));
  EXPECT_FALSE(replaces(assumption, old_measurement));
  EXPECT_TRUE(replaces(new_measurement, old_measurement));
  EXPECT_FALSE(replaces(old_measurement, new_measurement));
}

TEST(Typed, BlanksGoFromTheEndsAndCapitalsBecomeSmall) {
  EXPECT_EQ(trimmed(" \t Open Diapason\r\n"), "Open Diapason");
  EXPECT_EQ(trimmed(" \n "), "");
  EXPECT_EQ(lower("Flûte À Cheminée VIII"), "flûte À cheminée viii");
}

}  // namespace
}  // namespace calcant
