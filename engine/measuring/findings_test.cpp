#include "engine/measuring/findings.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

namespace calcant {
namespace {

MeasuredNote note(int place, double cents, double level = -20.0) {
  MeasuredNote n;
  n.place = place;
  n.key = Note{48 + place};
  n.state = NoteState::speaks;
  n.pitch = Pitch{};
  n.pitch->hertz = Hertz{130.8 * std::exp2(place / 12.0)};
  n.pitch->half_width_95 = Cents{0.1};
  n.cents = Cents{cents};
  n.level = Decibels{level};
  return n;
}

TEST(Findings, SmoothCourseIsBlindToOutliersAndFollowsAStraightLine) {
  std::vector<double> key;
  std::vector<double> value;
  for (int i = 0; i < 40; ++i) {
    key.push_back(i);
    value.push_back(0.3 * i + (i == 11 || i == 12 ? 20.0 : 0.0) + 0.2 * std::sin(i * 2.7));
  }
  const auto course = smooth_course(key, value);
  for (int i = 0; i < 40; ++i) EXPECT_NEAR(course[static_cast<std::size_t>(i)], 0.3 * i, 0.5) << i;
}

TEST(Findings, AWholeSideOfTheChestIsOneFinding) {
  std::vector<MeasuredNote> notes;
  for (int i = 0; i < 40; ++i) notes.push_back(note(i, i % 2 == 1 ? -3.5 : 0.0));
  const auto found = findings(notes);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].shared, "C sharp side");
  EXPECT_NEAR(found[0].amount, -3.5, 0.2);
}

TEST(Findings, OneDeadOctaveIsOneFinding) {
  std::vector<MeasuredNote> notes;
  for (int i = 0; i < 40; ++i) {
    notes.push_back(note(i, 0.0));
    if (i / 12 == 1) {
      notes.back() = MeasuredNote{};
      notes.back().place = i;
      notes.back().key = Note{48 + i};
      notes.back().state = NoteState::dead;
    }
  }
  const auto found = findings(notes);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].shared, "one octave");
  EXPECT_EQ(found[0].keys.size(), 12U);
}

// What the organist is asked to try stays with keys, stops, couplers, box and wind (issue 6).
TEST(Findings, TheOrganistNeverGoesInside) {
  std::vector<MeasuredNote> notes;
  for (int i = 0; i < 40; ++i) notes.push_back(note(i, 0.0));
  notes[5].state = NoteState::dead;
  notes[9].state = NoteState::cipher;
  notes[12].state = NoteState::wrong;
  notes[15].sounds_at = 2.0;
  notes[18].cents = Cents{12.0};
  notes[21].level = Decibels{-30.0};
  notes[24].level = Decibels{-12.0};
  notes[27].beat = HeardBeat{Hertz{1.0}, Cents{4.0}, Decibels{-5.0}};
  notes[30].late = Seconds{0.2};
  const auto found = findings(notes);
  EXPECT_EQ(found.size(), 9U);
  for (const auto& f : found) {
    EXPECT_FALSE(f.causes.empty());
    EXPECT_EQ(f.who, Who::builder);
    for (const auto& t : f.tests) {
      if (t.who != Who::organist) continue;
      for (const char* inside :
           {"screw", "wire", "languid", "tuning slide", "pallet", "open the", "remove", "lift", "weight"})
        EXPECT_THAT(t.what, testing::Not(testing::HasSubstr(inside)));
    }
  }
}

}  // namespace
}  // namespace calcant
