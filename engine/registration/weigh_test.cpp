#include "engine/registration/weigh.hpp"

#include <gtest/gtest.h>

#include "files/organfile/organfile.hpp"
#include "files/words/words.hpp"

namespace calcant {
namespace {

const Organ& village() {
  static const Organ organ = [] {
    auto folder = read_organ_folder("demo/village");
    EXPECT_TRUE(folder);
    return folder ? folder->organ : Organ{};
  }();
  return organ;
}
const Listening& nave() {
  static const Listening listening{village(), usual_condition(village())};
  return listening;
}

WeighedRegistration weighed(const std::string& draw, const std::string& keys, int draws) {
  const auto drawn = parse_registration(village(), draw);
  EXPECT_TRUE(drawn) << sentence(drawn.error());
  const auto down = parse_keys(village(), keys);
  EXPECT_TRUE(down) << sentence(down.error());
  const auto out = weigh(nave(), *drawn, *down, {draws, 1}, Work{});
  EXPECT_TRUE(out) << sentence(out.error());
  return out.value_or(WeighedRegistration{});
}

const KnobWeight& of(const WeighedRegistration& w, const std::string& knob_name) {
  for (const KnobWeight& k : w.knobs) {
    if (full_name(village(), k.knob) == knob_name) return k;
  }
  ADD_FAILURE() << knob_name << " was not weighed";
  return w.knobs.front();
}

TEST(Weigh, ASingleStopIsAllThereIs) {
  const auto w = weighed("Open Diapason 8", "Great:C4,E4,G4", 0);
  const KnobWeight& open = of(w, "Open Diapason 8");
  EXPECT_TRUE(open.drawn);
  EXPECT_EQ(open.presence, Presence::heard);
  // Alone and among nothing else are the same question.
  EXPECT_NEAR(open.alone.value(), w.loudness.sones.value(), 0.01 * w.loudness.sones.value());
  EXPECT_NEAR(open.partial.value(), w.loudness.sones.value(), 0.01 * w.loudness.sones.value());
  EXPECT_EQ(w.pipes, 3);
}

// The two answers are kept apart: what changes the sound need not be heard as itself.
TEST(Weigh, WhatEachKnobDoes) {
  const auto w =
      weighed("Open Diapason 8, Principal 4, Swell to Great, Swell: Oboe 8, Swell box=1", "Great:C4,E4,G4", 0);
  EXPECT_EQ(of(w, "Swell to Great").pipes, 3);
  EXPECT_EQ(of(w, "Oboe 8").pipes, 3);
  EXPECT_GT(of(w, "Principal 4").change.loudness, 0.05);
  EXPECT_FALSE(of(w, "Fifteenth 2").drawn);
  EXPECT_EQ(of(w, "Fifteenth 2").pipes, 3);
  for (const KnobWeight& k : w.knobs) {
    EXPECT_GE(k.change.loudness, -1e-9) << full_name(village(), k.knob);  // adding pipes never makes it softer
    EXPECT_LE(k.partial.value(), k.alone.value() * 1.02 + 1e-6) << full_name(village(), k.knob);
  }
}

TEST(Weigh, TheBoxShutsTheSwellAway) {
  const auto open = weighed("Swell: Oboe 8, Swell box=1", "Swell:C4,E4,G4", 0);
  const auto shut = weighed("Swell: Oboe 8, Swell box=0", "Swell:C4,E4,G4", 0);
  EXPECT_GT(open.loudness.phons.value(), shut.loudness.phons.value() + 5);
  EXPECT_GT(open.brightness, shut.brightness);
}

TEST(Weigh, DrawsSayWhatHolds) {
  const auto w = weighed("Open Diapason 8, Principal 4", "Great:C4,E4,G4", 40);
  EXPECT_GT(w.phon_95.value(), 1.0);
  EXPECT_LT(w.phon_95.value(), 8.0);
  EXPECT_GE(of(w, "Open Diapason 8").verdict_holds, holds);  // whatever its level, the diapason is heard
  EXPECT_NE(verdict(of(w, "Open Diapason 8")), "depends on assumed levels");
  const auto again = weighed("Open Diapason 8, Principal 4", "Great:C4,E4,G4", 40);
  EXPECT_EQ(again.phon_95, w.phon_95);
  const auto on_three = weigh(nave(), *parse_registration(village(), "Open Diapason 8, Principal 4"),
                              *parse_keys(village(), "Great:C4,E4,G4"), {40, 1}, Work{3});
  ASSERT_TRUE(on_three);
  EXPECT_EQ(on_three->phon_95, w.phon_95);
  for (std::size_t i = 0; i < w.knobs.size(); ++i)
    EXPECT_EQ(on_three->knobs[i].verdict_holds, w.knobs[i].verdict_holds);
}

// A chorus reed tops the Great and stands well over the Swell's oboe (common practice, no source).
TEST(Weigh, TheTrumpetTopsTheGreat) {
  const auto folder = read_organ_folder("demo/town");
  ASSERT_TRUE(folder);
  const Listening listening{folder->organ, usual_condition(folder->organ)};
  const auto phons = [&](const char* draw, const char* keys) {
    const auto w =
        weigh(listening, *parse_registration(folder->organ, draw), *parse_keys(folder->organ, keys), {0, 1}, Work{});
    return w ? w->loudness.phons.value() : 0;
  };
  const double trumpet = phons("Great: Trumpet 8", "Great:C4,E4,G4");
  EXPECT_GT(trumpet, phons("Great: Open Diapason I 8", "Great:C4,E4,G4"));
  EXPECT_GT(trumpet, phons("Swell: Oboe 8", "Swell:C4,E4,G4") + 3);
}

// Ten keys on everything a large organ has are more lines than the ear model takes at once.
TEST(Weigh, AFullOrganCanBeWeighed) {
  const auto folder = read_organ_folder("demo/town");
  ASSERT_TRUE(folder);
  const Listening listening{folder->organ, usual_condition(folder->organ)};
  Registration all;
  all.box.fill(1);
  for (std::size_t s = 0; s < folder->organ.stops.size(); ++s) all.stops.set(s);
  for (std::size_t c = 0; c < folder->organ.couplers.size(); ++c)
    if (!folder->organ.couplers[c].unison_off) all.couplers.set(c);
  const auto down = parse_keys(folder->organ, "Great:C3,E3,G3,C4,E4,G4,C5,E5,G5 Pedal:C2");
  const auto w = weigh(listening, all, *down, {0, 1}, Work{});
  ASSERT_TRUE(w) << sentence(w.error());
  EXPECT_GT(w->pipes, 500);
}

// A celeste beats with what it is tuned against; the thirds and fifths of a tempered chord are no pipes out of tune.
TEST(Weigh, BeatsAreOfOneKeysPipes) {
  const auto beats = [&](const char* draw) {
    const auto w = weigh(nave(), *parse_registration(village(), draw),
                         *parse_keys(village(), "Great:C4,E4,G4 Swell:C4,E4,G4"), {0, 1}, Work{});
    return w ? w->beats : std::vector<Beat>(1);
  };
  EXPECT_TRUE(beats("Open Diapason 8").empty());
  const auto celeste = beats("Salicional 8, Voix Celeste 8");
  ASSERT_FALSE(celeste.empty());
  EXPECT_GT(celeste.front().rate.value(), 0.5);
}

TEST(Weigh, RefusesSilence) {
  const auto drawn = parse_registration(village(), "Open Diapason 8");
  const auto down = parse_keys(village(), "Swell:C4");
  const auto w = weigh(nave(), *drawn, *down, {0, 1}, Work{});
  ASSERT_FALSE(w);
  EXPECT_NE(w.error().message.find("nothing sounds"), std::string::npos);
}

}  // namespace
}  // namespace calcant
