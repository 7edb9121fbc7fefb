#include "engine/organ/organ.hpp"

#include <gtest/gtest.h>

#include "engine/organ/overlay.hpp"
#include "engine/organ/registration.hpp"

namespace calcant {
namespace {

Organ small() {
  Organ o;
  o.keyboards = {{"great", "Great", false, NoteSet::range(36, 91), 0}};
  o.divisions = {{"great", "Great", 0, Note{36}, Note{91}, {}}};
  Chest c;
  c.id = "great";
  o.chests = {c};
  const auto rank = [](std::string id, Feet f, Form form) {
    Rank r;
    r.id = std::move(id);
    r.form = form;
    r.pitch = {{Note{36}, f}};
    return r;
  };
  o.ranks = {rank("open", Feet{}, Form::open), rank("twelfth", Feet{Rational{8, 3}}, Form::open),
             rank("trumpet", Feet{}, Form::reed_full), rank("sub", Feet{Rational{16}}, Form::stopped)};
  Stop s;
  s.id = s.name = "open";
  s.parts = {{0, Note{36}, Note{127}, 0, false}};
  o.stops = {s};
  o.pitch = {given(Hertz{440}), given(Celsius{15})};
  o.action.delay.resize(1);
  return o;
}

TEST(Organ, SmallOneKeepsToTheRules) { EXPECT_EQ(breaches(small()), std::vector<std::string>{}); }

TEST(Organ, BreachesAreTold) {
  Organ o = small();
  o.ranks[0].chest = 3;
  o.ranks[1].pitch.clear();
  o.stops[0].parts[0].rank = 9;
  o.keyboards[0].keys = {};
  EXPECT_EQ(breaches(o).size(), 4U);
}

TEST(Organ, LengthsAndNotes) {
  const Organ o = small();
  EXPECT_EQ(name(sounding_note(o, {0, 25})), "C4");
  EXPECT_EQ(name(sounding_note(o, {1, 25})), "G5");
  EXPECT_EQ(name(sounding_note(o, {3, 1})), "C1");
  EXPECT_EQ(name(key_of(o, {3, 1})), "C2");
}

TEST(Organ, MixtureLengthFollowsItsBreaks) {
  Rank r;
  r.pitch = {{Note{36}, Feet{Rational{1}}}, {Note{60}, Feet{Rational{4, 3}}}};
  EXPECT_EQ(to_string(r.feet_at(Note{36})), "1");
  EXPECT_EQ(to_string(r.feet_at(Note{59})), "1");
  EXPECT_EQ(to_string(r.feet_at(Note{60})), "1 1/3");
  EXPECT_EQ(to_string(r.feet_at(Note{91})), "1 1/3");
}

TEST(Organ, FrequencyInEqualTemperament) {
  const Organ o = small();
  // A4 is key 69: pipe 34 of a rank from C2. Middle C of A 440 is 261.6256 Hz (any table of equal
  // temperament).
  EXPECT_NEAR(frequency(o, {0, 34}, Celsius{15}).value(), 440.0, 1e-9);
  EXPECT_NEAR(frequency(o, {0, 25}, Celsius{15}).value(), 261.6256, 1e-4);
  EXPECT_NEAR(frequency(o, {3, 34}, Celsius{15}).value(), 220.0, 1e-9);
  // A twelfth is tuned pure: three times its key's note, 2 cents above the tempered G.
  EXPECT_NEAR(frequency(o, {1, 25}, Celsius{15}).value(), 3 * 261.6256, 3e-4);
}

TEST(Organ, FrequencyFollowsTheWindsTemperatureFlueAndReed) {
  const Organ o = small();
  const Cents flue = interval(frequency(o, {0, 34}, Celsius{15}), frequency(o, {0, 34}, Celsius{20}));
  const Cents reed = interval(frequency(o, {2, 34}, Celsius{15}), frequency(o, {2, 34}, Celsius{20}));
  // 865.6 / T cents per kelvin (reference, computed from the root law): 5 K about 17.5 C, 290.65 K.
  EXPECT_NEAR(flue.value(), 5 * 865.6 / 290.65, 0.02);
  EXPECT_NEAR(reed.value(), 0.35 * flue.value(), 1e-6);
}

TEST(Organ, NamesAsEngraved) {
  Stop s;
  s.name = "Sesquialtera";
  s.feet = {Feet{Rational{8, 3}}, Feet{Rational{8, 5}}};
  EXPECT_EQ(full_name(s), "Sesquialtera 2 2/3 & 1 3/5");
  s = {};
  s.name = "Mixture";
  s.mixture_ranks = 3;
  EXPECT_EQ(full_name(s), "Mixture III");
}

TEST(Registration, KnobsMovedAndHash) {
  Registration a, b;
  a.stops.set(3);
  a.couplers.set(1);
  b.stops.set(3);
  b.stops.set(100);
  EXPECT_EQ(knobs_moved(a, b), 2);
  EXPECT_NE(std::hash<Registration>{}(a), std::hash<Registration>{}(b));
  b = a;
  EXPECT_EQ(std::hash<Registration>{}(a), std::hash<Registration>{}(b));
}

TEST(Overlay, BetterFigureWinsAndTheLoserIsTold) {
  Organ o = small();
  o.ranks[0].loudness = given(Decibels{1});
  Overlay day;
  day.rank_loudness = {{"open", {3.0, Source::measured, 0.5, "2026-03-01", "close microphone", ""}},
                       {"open", {-5.0, Source::assumed, {}, "", "", ""}}};
  const Applied done = apply(o, day);
  EXPECT_EQ(done.organ.ranks[0].loudness.value, Decibels{3});
  EXPECT_EQ(done.organ.ranks[0].loudness.half_width_95, 0.5);
  ASSERT_EQ(done.overruled.size(), 2U);
  EXPECT_EQ(done.overruled[0].kept, "+3 dB, measured 2026-03-01 (close microphone)");
  EXPECT_EQ(done.overruled[0].lost, "+1 dB, given");
  EXPECT_EQ(done.overruled[1].lost, "-5 dB, assumed");
}

TEST(Overlay, SpectrumOfAPipe) {
  Overlay day;
  day.pipe_spectrum = {{"open", 25, {{0, -7, -12}, Source::measured, {}, "2026-03-01", "close microphone", ""}},
                       {"open", 25, {{0, -9}, Source::given, {}, "2026-04-01", "", ""}},
                       {"oboe", 3, {{0, -9}, Source::given, {}, "", "", ""}}};
  const Applied done = apply(small(), day);
  ASSERT_NE(pipe_figures(done.organ, {0, 25}), nullptr);
  EXPECT_EQ(pipe_figures(done.organ, {0, 25})->spectrum->value, (std::vector<double>{0, -7, -12}));
  EXPECT_EQ(done.overruled.size(), 1U);
  EXPECT_EQ(done.orphans.size(), 1U);
}

TEST(Overlay, DeadPipesStopsAndOrphans) {
  Overlay day;
  day.dead = {{"open", 25, "silent since Sunday"}, {"open", 57, ""}, {"oboe", 1, ""}};
  day.stops_out_of_use = {"open", "krummhorn"};
  day.pipe_cents = {{"open", 25, {4.0, Source::measured, {}, "", "", ""}}};
  day.temperature = given(Celsius{9});
  const Applied done = apply(small(), day);
  EXPECT_TRUE(done.organ.dead[0].contains(25));
  EXPECT_TRUE(done.organ.stops[0].out_of_use);
  EXPECT_EQ(done.orphans.size(), 3U);
  EXPECT_EQ(done.organ.room.temperature.value, Celsius{9});
  ASSERT_NE(pipe_figures(done.organ, {0, 25}), nullptr);
  EXPECT_EQ(pipe_figures(done.organ, {0, 26}), nullptr);
  EXPECT_NEAR(interval(frequency(small(), {0, 25}, Celsius{15}), frequency(done.organ, {0, 25}, Celsius{15})).value(),
              4.0, 1e-9);
  EXPECT_TRUE(breaches(done.organ).empty());
}

TEST(Overlay, WhatWasHeardOfCouplersHoldsUnlessTheOrganWasTriedLater) {
  Organ o = small();
  o.couplers.resize(3);
  for (const auto& [at, id] : {std::pair{0U, "gt-pd"}, std::pair{1U, "sw-gt"}, std::pair{2U, "sw-oct"}})
    o.couplers[at].id = id;
  o.couplers[0].carries = {2};
  o.couplers[1].carries = {2};
  o.couplers[1].tried = true;
  o.couplers[1].tried_on = "2026-03-31";
  Overlay day;
  day.couplers = {{"gt-pd", "sw-gt", true, "2026-03-30"},
                  {"gt-pd", "sw-oct", false, "2026-03-30"},
                  {"sw-gt", "sw-oct", false, "2026-03-30"},
                  {"gt-pd", "ch-gt", true, "2026-03-30"}};
  const Applied done = apply(o, day);
  EXPECT_EQ(done.organ.couplers[0].carries, std::vector<CouplerIndex>{1});
  EXPECT_EQ(done.organ.couplers[0].heard, (std::vector<CouplerIndex>{1, 2}));
  EXPECT_EQ(done.organ.couplers[1].carries, std::vector<CouplerIndex>{2}) << "tried on a later day";
  ASSERT_EQ(done.orphans.size(), 1U);
  EXPECT_NE(done.orphans[0].find("ch-gt"), std::string::npos);
  day.couplers[2].date = "2026-04-01";
  EXPECT_TRUE(apply(o, day).organ.couplers[1].carries.empty());
}

}  // namespace
}  // namespace calcant
