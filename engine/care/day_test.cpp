#include "engine/care/day.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace calcant {
namespace {

Organ small_organ() {
  Organ o;
  o.id = "test";
  o.keyboards.push_back({"great", "Great", false, NoteSet::range(36, 91), 0});
  o.divisions.push_back({"great", "Great", 0, Note{36}, Note{91}, std::nullopt});
  o.chests.push_back({});
  o.chests[0].id = "great";
  for (const auto& [id, family, form] :
       {std::tuple{"principal", Family::principal, Form::open}, std::tuple{"oboe", Family::reed, Form::reed_half}}) {
    Rank r;
    r.id = id;
    r.name = id;
    r.family = family;
    r.form = form;
    r.pitch = {{Note{36}, Feet{Rational{8}}}};
    o.ranks.push_back(r);
    Stop s;
    s.id = id;
    s.name = id;
    s.feet = {Feet{Rational{8}}};
    s.parts = {{static_cast<int>(o.ranks.size()) - 1, Note{36}, Note{91}, 0, false}};
    o.stops.push_back(s);
  }
  o.pitch.a = given(Hertz{440});
  o.pitch.at = given(Celsius{16});
  return o;
}

TEST(Day, DeadNotesAndStopsOutOfUse) {
  OpenFault dead;
  dead.stop = "principal";
  dead.rank = "principal";
  dead.pipe = 7;
  dead.dead = true;
  dead.words = "Principal F#2 dead";
  dead.when = "cold";
  dead.reported = "2026-11-01";
  OpenFault out;
  out.stop = "oboe";
  out.out_of_use = true;
  const Day day = organ_of_day(small_organ(), {dead, out}, {}, {"2026-11-22", std::nullopt, false});
  ASSERT_EQ(day.overlay.dead.size(), 1U);
  EXPECT_EQ(day.overlay.dead[0].number, 7);
  EXPECT_THAT(day.overlay.stops_out_of_use, testing::ElementsAre("oboe"));
  EXPECT_THAT(day.allowed_for, testing::ElementsAre("Principal F#2 dead (cold), in the book since 1 November 2026",
                                                    "oboe 8 is out of use"));
  const Applied applied = apply(small_organ(), day.overlay);
  EXPECT_TRUE(applied.orphans.empty());
  EXPECT_TRUE(applied.organ.dead.at(0).contains(7));
}

// Character stays, state is closed: a visit on a later day, to this stop or to the whole organ, ends what was measured of
// tuning and dead notes, and leaves the levels.
TEST(Day, AVisitClosesTheStateAndNotTheCharacter) {
  PipeRecord dead;
  dead.rank = "principal";
  dead.pipe = 7;
  dead.stop = "principal";
  dead.date = "2026-03-01";
  dead.dead = true;
  PipeRecord flat = dead;
  flat.pipe = 8;
  flat.dead = false;
  flat.cents = Cents{-12};
  flat.level = Decibels{2};
  const auto day = [&](const std::vector<StateClosed>& visits, const std::vector<PipeRecord>& records) {
    return organ_of_day(small_organ(), {}, records, {"2026-11-22", std::nullopt, true}, visits);
  };
  const Day open = day({{"2026-03-01", ""}, {"2026-12-01", ""}, {"2026-05-01", "oboe"}}, {dead, flat});
  ASSERT_EQ(open.overlay.dead.size(), 1U);
  EXPECT_EQ(open.overlay.dead[0].number, 7);
  EXPECT_THAT(open.allowed_for,
              testing::ElementsAre("principal, F#2: gave no sound when it was measured on 2026-03-01"));
  EXPECT_EQ(open.overlay.pipe_cents.size(), 1U);
  for (const std::string stop : {"", "principal"}) {
    const Day closed = day({{"2026-05-01", stop}}, {dead, flat});
    EXPECT_TRUE(closed.overlay.dead.empty());
    EXPECT_TRUE(closed.overlay.pipe_cents.empty());
    EXPECT_EQ(closed.overlay.pipe_level.size(), 1U);
  }
  // Measured anew and found to speak.
  PipeRecord again = flat;
  again.pipe = 7;
  again.date = "2026-04-01";
  EXPECT_TRUE(day({}, {dead, again}).overlay.dead.empty());
}

TEST(Day, LevelsReshapeTheRankAndKeepItsMean) {
  std::vector<PipeRecord> records;
  for (int pipe = 1; pipe <= 3; ++pipe) {
    PipeRecord r;
    r.rank = "principal";
    r.pipe = pipe;
    r.date = "2026-10-01";
    r.level = Decibels{70.0 + pipe};
    records.push_back(r);
  }
  records[1].date = "2026-12-01";  // after the day: not known yet
  const Day day = organ_of_day(small_organ(), {}, records, {"2026-11-22", std::nullopt, false});
  ASSERT_EQ(day.overlay.pipe_level.size(), 2U);
  EXPECT_DOUBLE_EQ(day.overlay.pipe_level[0].value.value, -1.0);
  EXPECT_DOUBLE_EQ(day.overlay.pipe_level[1].value.value, 1.0);
  EXPECT_EQ(day.overlay.pipe_level[0].value.half_width_95, 5.0);
}

// In the cold the flues fall and the reeds seem sharp. Flues fall 3.1 cents a kelvin near 10 C (root law, pipes.md 5);
// a half-length reed is assumed to make 0.15 of that: 8 K colder leaves it about 0.85 * 24.3 = 20.6 cents above.
TEST(Day, ReedsStandAboveTheFluesInTheCold) {
  const Day cold = organ_of_day(small_organ(), {}, {}, {"2026-11-22", Celsius{8}, false});
  ASSERT_EQ(cold.reeds_apart.size(), 1U);
  EXPECT_EQ(cold.reeds_apart[0].rank, "oboe");
  EXPECT_NEAR(cold.reeds_apart[0].above_flues.value(), 20.6, 0.4);
  EXPECT_TRUE(organ_of_day(small_organ(), {}, {}, {"2026-11-22", Celsius{15}, false}).reeds_apart.empty());
}

TEST(Day, OutOfTuneNotesOnlyAsFound) {
  PipeRecord r;
  r.rank = "oboe";
  r.pipe = 3;
  r.cents = Cents{9};
  r.date = "2026-10-01";
  EXPECT_TRUE(organ_of_day(small_organ(), {}, {r}, {"2026-11-22", std::nullopt, false}).overlay.pipe_cents.empty());
  EXPECT_EQ(organ_of_day(small_organ(), {}, {r}, {"2026-11-22", std::nullopt, true}).overlay.pipe_cents.size(), 1U);
}

}  // namespace
}  // namespace calcant
