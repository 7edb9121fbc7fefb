// Every rule of practice fires where it should and is silent where it should not be. The rules' own sources stand in
// docs/reference/rules.md; the registrations are common practice, on the invented village organ.
#include "engine/registration/rules.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "files/organfile/organfile.hpp"
#include "files/words/words.hpp"

namespace calcant {
namespace {

constexpr KeyboardIndex great = 0;
constexpr KeyboardIndex swell = 1;

const Organ& village() {
  static const Organ organ = [] {
    auto folder = read_organ_folder("demo/village");
    EXPECT_TRUE(folder);
    return folder ? folder->organ : Organ{};
  }();
  return organ;
}

Registration drawn(const std::string& words) {
  const auto r = parse_registration(village(), words);
  EXPECT_TRUE(r) << (r ? "" : sentence(r.error()));
  return r.value_or(Registration{});
}

std::optional<Advice> said(std::string_view rule, const std::string& words, const Occasion& playing = {}) {
  const auto all = advise(village(), drawn(words), playing);
  const auto at = std::find_if(all.begin(), all.end(), [&](const Advice& a) { return a.rule == rule; });
  return at == all.end() ? std::nullopt : std::optional{*at};
}

Occasion playing(Use use, KeyboardIndex on = great) {
  Occasion o;
  o.use = use;
  o.on = on;
  return o;
}

struct OnOneOrgan {
  const char* rule;
  Use use;
  KeyboardIndex on;
  const char* fires;
  const char* silent;
};

// From the registration alone.
TEST(Rules, EachFiresAndIsSilent) {
  const OnOneOrgan rows[] = {
      {"R1", Use::chorus, great, "Principal 4, Fifteenth 2", "Open Diapason 8, Principal 4, Fifteenth 2"},
      {"R4", Use::chorus, great, "Open Diapason 8, Fifteenth 2", "Open Diapason 8, Principal 4, Fifteenth 2"},
      {"R4", Use::chorus, great, "Clarabella 8, Mixture II, Swell to Great",
       "Clarabella 8, Mixture II, Oboe 8, Swell to Great"},
      // A solo may stand on 4 ft.
      {"R1", Use::chorus, great, "Principal 4", "Clarabella 8"},
      {"R2", Use::chorus, great, "Open Diapason 8, Fifteenth 2", "Open Diapason 8, Principal 4, Fifteenth 2"},
      {"R3", Use::chorus, great, "Open Diapason 8, Principal 4, Twelfth",
       "Open Diapason 8, Principal 4, Twelfth, Fifteenth"},
      {"R7", Use::chorus, great, "Open Diapason 8, Dulciana 8, Principal 4", "Dulciana 8, Clarabella 8"},
      {"R8", Use::colour, swell, "Voix Celeste 8, Salicional 8, Gemshorn 4", "Voix Celeste 8, Salicional 8"},
      {"R9", Use::hymn, swell, "Violin Diapason 8, Gemshorn 4, Tremulant", "Violin Diapason 8, Gemshorn 4"},
      {"R10", Use::chorus, swell, "Oboe 8", "Oboe 8, Lieblich Gedackt 8"},
      {"R11", Use::chorus, swell, "Lieblich Bourdon 16, Violin Diapason 8, Gemshorn 4",
       "Violin Diapason 8, Gemshorn 4"},
      {"R13", Use::chorus, swell, "Lieblich Bourdon 16, Violin Diapason 8",
       "Lieblich Bourdon 16, Violin Diapason 8, Gemshorn 4"},
      {"R15", Use::chorus, great, "Open Diapason 8, Pedal: Bourdon 16",
       "Open Diapason 8, Pedal: Bourdon 16, Bass Flute 8"},
      {"R17", Use::chorus, great, "Open Diapason 8, Pedal: Bourdon 16, Swell to Pedal, Violin Diapason 8",
       "Open Diapason 8, Pedal: Bourdon 16, Great to Pedal"},
      {"R20", Use::accompaniment, great, "Clarabella 8, Swell to Great, Salicional 8", "Clarabella 8"},
      {"R36", Use::hymn, great, "Open Diapason 8, Pedal: Bourdon 16, Bass Flute 8",
       "Open Diapason 8, Principal 4, Pedal: Bourdon 16, Bass Flute 8"},
      {"R36", Use::hymn, great, "Open Diapason 8, Principal 4, Pedal: Bourdon 16",
       "Open Diapason 8, Principal 4, Pedal: Bourdon 16, Great to Pedal"},
  };
  for (const OnOneOrgan& r : rows) {
    const auto advice = said(r.rule, r.fires, playing(r.use, r.on));
    ASSERT_TRUE(advice) << r.rule << " is silent on " << r.fires;
    EXPECT_FALSE(advice->found.empty()) << r.rule;
    EXPECT_FALSE(advice->why.empty()) << r.rule;
    EXPECT_FALSE(advice->source.empty()) << r.rule;
    EXPECT_FALSE(said(r.rule, r.silent, playing(r.use, r.on))) << r.rule << " fires on " << r.silent;
  }
}

// A colour is not a chorus: the ladder's rules have nothing to say of it.
TEST(Rules, AColourIsLeftAlone) {
  for (const char* rule : {"R1", "R2", "R3", "R6", "R7"})
    EXPECT_FALSE(said(rule, "Clarabella 8, Twelfth, Fifteenth 2", playing(Use::colour))) << rule;
}

// Against practice, warning, advice: a twelfth alone is worse than a string with the diapasons (Dickson 1882; Grove).
TEST(Rules, SayHowPlainlyPracticeIsAgainstIt) {
  EXPECT_EQ(said("R3", "Open Diapason 8, Principal 4, Twelfth")->weight, Weight::against);
  EXPECT_EQ(said("R8", "Voix Celeste 8, Open Diapason 8, Swell to Great")->weight, Weight::against);
  EXPECT_EQ(said("R2", "Open Diapason 8, Fifteenth 2")->weight, Weight::warning);
  EXPECT_EQ(said("R11", "Lieblich Bourdon 16, Gemshorn 4, Swell to Great")->weight, Weight::advice);
}

TEST(Rules, TheSilveryFluteOnTheDiapasons) {
  Organ o = village();
  Stop& principal = o.stops[static_cast<std::size_t>(*stop_by_id(o, "gt-principal"))];
  const Registration r = drawn("Open Diapason 8, Principal 4");
  const auto has_r5 = [&] {
    const auto all = advise(o, r, {});
    return std::any_of(all.begin(), all.end(), [](const Advice& a) { return a.rule == "R5"; });
  };
  EXPECT_FALSE(has_r5());
  principal.family = Family::flute;
  EXPECT_TRUE(has_r5());
}

TEST(Rules, TwoOfAKind) {
  Organ o = village();
  const Registration r = drawn("Open Diapason 8, Clarabella 8");
  const auto has_r6 = [&] {
    const auto all = advise(o, r, {});
    return std::any_of(all.begin(), all.end(), [](const Advice& a) { return a.rule == "R6"; });
  };
  EXPECT_FALSE(has_r6());
  o.stops[static_cast<std::size_t>(*stop_by_id(o, "gt-clarabella"))].family = Family::principal;
  EXPECT_TRUE(has_r6());
  // By a coupler they stand on two manuals: that is no doubling on one.
  EXPECT_FALSE(said("R6", "Open Diapason 8, Violin Diapason 8, Swell to Great"));
}

// Figures the caller computes: nothing is said where they are not known.
TEST(Rules, PedalOverTheHands) {
  Occasion o;
  EXPECT_FALSE(said("R16", "Dulciana 8, Pedal: Bourdon 16, Bass Flute 8", o));
  o.manual = Phons{70};
  o.pedal = Phons{71.5};
  EXPECT_FALSE(said("R16", "Dulciana 8, Pedal: Bourdon 16, Bass Flute 8", o));
  o.pedal = Phons{78};
  const auto advice = said("R16", "Dulciana 8, Pedal: Bourdon 16, Bass Flute 8", o);
  ASSERT_TRUE(advice);
  EXPECT_THAT(advice->found, testing::HasSubstr("8 phon"));
}

// The least that leads a hymn has 16 and 8 ft in the pedal (R36, training pages): to be heard. The 10 phon are ours.
TEST(Rules, PedalTooThinUnderTheHands) {
  Occasion o;
  o.manual = Phons{88};
  o.pedal = Phons{79};
  EXPECT_FALSE(said("R16", "Open Diapason 8, Pedal: Bourdon 16", o));
  o.pedal = Phons{70};
  const auto advice = said("R16", "Open Diapason 8, Pedal: Bourdon 16", o);
  ASSERT_TRUE(advice);
  EXPECT_EQ(advice->weight, Weight::warning);
  EXPECT_THAT(advice->found, testing::HasSubstr("18 phon under"));
  EXPECT_FALSE(said("R16", "Open Diapason 8", o));  // nothing drawn for the feet is no thin bass
}

// A quiet verse is 8 and 4 ft (a church musician's pages, 2016).
TEST(Rules, SoftIsFoundations) {
  Occasion o;
  const char* const loud[] = {"Dulciana 8, Mixture II, Swell to Great", "Dulciana 8, Fifteenth 2"};
  for (const char* words : loud) {
    o.soft = false;
    EXPECT_FALSE(said("R37", words, o)) << words;
    o.soft = true;
    EXPECT_TRUE(said("R37", words, o)) << words;
  }
  // The Oboe is there for solos, and is no reed of the chorus.
  EXPECT_FALSE(said("R37", "Dulciana 8, Gemshorn 4, Oboe 8, Swell to Great", o));
}

TEST(Rules, AWarmBoxDriftsFromTheRest) {
  Occasion o;
  EXPECT_FALSE(said("R21", "Open Diapason 8", o));
  o.box_above_room = Celsius{1};
  EXPECT_FALSE(said("R21", "Open Diapason 8", o));
  o.box_above_room = Celsius{4};
  const auto advice = said("R21", "Open Diapason 8", o);
  ASSERT_TRUE(advice);
  EXPECT_THAT(advice->found, testing::HasSubstr("4 K"));
}

TEST(Rules, AnOctaveCouplerRunsOut) {
  // The Swell goes an octave beyond the keys: Swell Octave is complete, the Sub-Octave is not at the bottom.
  EXPECT_FALSE(said("R23", "Violin Diapason 8, Swell Octave", playing(Use::chorus, swell)));
  const auto advice = said("R23", "Violin Diapason 8, Swell Sub-Octave", playing(Use::chorus, swell));
  ASSERT_TRUE(advice);
  EXPECT_THAT(advice->found, testing::HasSubstr("bottom 12 keys"));
}

// The pedal goes on below the hand that has the lowest notes, wherever the other one plays its tune.
TEST(Rules, ThePedalsCouplerIsJudgedByTheLowerHand) {
  Occasion o = playing(Use::solo, swell);
  const char* drawn = "Swell: Oboe 8, Clarabella 8, Pedal: Bourdon 16, Great to Pedal";
  EXPECT_TRUE(said("R17", drawn, o));  // both hands on the Swell
  o.bass_on = great;
  EXPECT_FALSE(said("R17", drawn, o));
  const auto advice = said("R17", "Swell: Oboe 8, Clarabella 8, Pedal: Bourdon 16, Swell to Pedal", o);
  ASSERT_TRUE(advice);
  EXPECT_THAT(advice->found, testing::HasSubstr("the lower hand is on the Great but Swell to Pedal"));
}

TEST(Rules, MoreWindThanTheBlowerGives) {
  Occasion o;
  EXPECT_FALSE(said("R26", "Open Diapason 8", o));
  o.wind = LitresPerSecond{259};
  EXPECT_FALSE(said("R26", "Open Diapason 8", o));
  o.wind = LitresPerSecond{261};
  const auto advice = said("R26", "Open Diapason 8", o);
  ASSERT_TRUE(advice);
  EXPECT_THAT(advice->found, testing::HasSubstr("the blower gives 260"));
}

TEST(Rules, ASoloAndItsAccompanimentShareNothing) {
  Occasion o = playing(Use::accompaniment);
  const char* coupled = "Clarabella 8, Swell to Great, Oboe 8";
  EXPECT_FALSE(said("R28", coupled, o));  // no solo was named
  o.solo_on = swell;
  const auto advice = said("R28", coupled, o);
  ASSERT_TRUE(advice);
  EXPECT_THAT(advice->found, testing::HasSubstr("Oboe 8"));
  EXPECT_FALSE(said("R28", "Clarabella 8, Oboe 8", o));
}

}  // namespace
}  // namespace calcant
