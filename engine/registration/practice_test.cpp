// The quick rules against the ones that people are told (rules.hpp), state by state.
#include "engine/registration/practice.hpp"

#include <gtest/gtest.h>

#include "engine/quantity/random.hpp"
#include "engine/registration/choose_test.hpp"
#include "engine/registration/chord_ear.hpp"
#include "files/organfile/organfile.hpp"
#include "files/words/words.hpp"

namespace calcant {
namespace {

void agrees_with_the_rules(const std::string& folder_name, const std::string& board, int played) {
  const auto folder = read_organ_folder(folder_name);
  ASSERT_TRUE(folder);
  const Organ& organ = folder->organ;
  const KeyboardIndex on = *keyboard_by_id(organ, board);
  auto chords = stated_chords(organ, on, played);
  ASSERT_FALSE(chords.empty());
  const auto space = Space::make(organ, chords);
  ASSERT_TRUE(space);
  const Practice practice{*space, on, played};
  Random random{1900, static_cast<std::uint64_t>(played + 50)};
  int refused = 0;
  int warned = 0;
  int makeshifts = 0;
  for (int i = 0; i < 400; ++i) {
    const auto l = static_cast<std::size_t>(random.below(static_cast<int>(space->linkings().size())));
    StopMask m = 0;
    const int stops = 1 + random.below(5);
    for (int s = 0; s < stops; ++s) m |= StopMask{1} << random.below(static_cast<int>(space->stops().size()));
    m &= space->linkings()[l].sounding;
    if (m == 0) continue;
    const Registration drawn = space->registration(l, m);
    SCOPED_TRACE(registration_text(organ, drawn));
    Occasion occasion;
    occasion.on = on;
    occasion.played = played;
    bool against = false;
    int warnings = 0;
    for (const Advice& a : advise(organ, drawn, occasion)) {
      if (a.rule == "R1" || a.weight == Weight::against) against = true;
      if (a.weight == Weight::warning &&
          (a.rule == "R2" || a.rule == "R4" || a.rule == "R6" || a.rule == "R7" || a.rule == "R13"))
        ++warnings;
    }
    EXPECT_EQ(practice.warnings(l, m), warnings);
    EXPECT_EQ(practice.makeshifts(l, m), makeshifts_by_the_book(organ, drawn, on, played));
    EXPECT_NEAR(practice.against_soft(l, m), soft_by_the_book(organ, drawn, on, played), 1e-12);
    makeshifts += practice.makeshifts(l, m);
    // What the rules are against is never allowed; what is refused besides lacks an 8 ft of its own keyboard, or has a
    // celeste without what it beats with.
    EXPECT_FALSE(against && practice.allows(l, m, Manner::free));
    for (const Manner manner : {Manner::hymn, Manner::chorus}) {
      const bool fit = practice.allows(l, m, Manner::free) && (m & practice.celestes()) == 0;
      EXPECT_TRUE(fit || !practice.allows(l, m, manner));
    }
    refused += against ? 1 : 0;
    warned += warnings > 0 ? 1 : 0;
  }
  EXPECT_GT(refused, 20);
  EXPECT_GT(warned, 20);
  EXPECT_GT(makeshifts, 20);
}

TEST(Practice, AgreesWithTheRulesInTheVillage) { agrees_with_the_rules("demo/village", "great", 0); }
TEST(Practice, AgreesWithTheRulesAnOctaveLower) { agrees_with_the_rules("demo/village", "great", -12); }
TEST(Practice, AgreesWithTheRulesInTheTown) { agrees_with_the_rules("demo/town", "great", 0); }

TEST(Practice, AFlutePlayedAnOctaveLowerIsAnEightFoot) {
  const auto folder = read_organ_folder("demo/chapel");
  ASSERT_TRUE(folder);
  const Organ& organ = folder->organ;
  for (const int played : {0, -12}) {
    const auto chords = stated_chords(organ, 0, played);
    const auto space = Space::make(organ, chords);
    ASSERT_TRUE(space);
    const Practice practice{*space, 0, played};
    const StopMask flute = space->mask(parse_registration(organ, "Flute 4")->stops);
    EXPECT_EQ(practice.allows(0, flute, Manner::free), played == -12);
  }
}

TEST(Practice, ACelesteWantsItsPartnerAndNothingElseThanSoftEightFoot) {
  const auto folder = read_organ_folder("demo/village");
  ASSERT_TRUE(folder);
  const Organ& organ = folder->organ;
  const KeyboardIndex swell = *keyboard_by_id(organ, "swell");
  const auto chords = stated_chords(organ, swell);
  const auto space = Space::make(organ, chords);
  ASSERT_TRUE(space);
  const Practice practice{*space, swell, 0};
  const auto allowed = [&](const std::string& draw, Manner manner) {
    const auto state = space->state(*parse_registration(organ, draw));
    return practice.allows(state->linking, state->stops, manner);
  };
  EXPECT_TRUE(allowed("Salicional 8, Voix Celeste 8", Manner::free));
  EXPECT_TRUE(allowed("Salicional 8, Voix Celeste 8, Lieblich Gedackt 8", Manner::free));
  EXPECT_FALSE(allowed("Voix Celeste 8", Manner::free));
  EXPECT_FALSE(allowed("Lieblich Gedackt 8, Voix Celeste 8", Manner::free));
  EXPECT_FALSE(allowed("Salicional 8, Voix Celeste 8, Gemshorn 4", Manner::free));
  EXPECT_FALSE(allowed("Salicional 8, Voix Celeste 8", Manner::chorus));
  EXPECT_FALSE(allowed("Violin Diapason 8", Manner::hymn));
  EXPECT_TRUE(allowed("Violin Diapason 8, Gemshorn 4", Manner::hymn));
}

TEST(Practice, AChorusGrowsFromItsEightFootAndOctaveCouplersComeLast) {
  const auto folder = read_organ_folder("demo/village");
  ASSERT_TRUE(folder);
  const Organ& organ = folder->organ;
  const KeyboardIndex great = *keyboard_by_id(organ, "great");
  const auto chords = stated_chords(organ, great);
  const auto space = Space::make(organ, chords);
  ASSERT_TRUE(space);
  const Practice practice{*space, great, 0};
  const auto allowed = [&](const std::string& draw) {
    const auto state = space->state(*parse_registration(organ, draw));
    return practice.allows(state->linking, state->stops, Manner::chorus);
  };
  EXPECT_TRUE(allowed("Open Diapason 8, Principal 4, Fifteenth 2"));
  EXPECT_FALSE(allowed("Open Diapason 8, Fifteenth 2"));
  // The 4 ft of another division is no ground for this one's 2 ft.
  EXPECT_FALSE(allowed("Open Diapason 8, Fifteenth 2, Swell to Great, Gemshorn 4, Violin Diapason 8"));
  // A division without a 2 ft has its mixture over its 4 ft.
  EXPECT_TRUE(allowed("Dulciana 8, Swell to Great, Violin Diapason 8, Gemshorn 4, Mixture II"));
  EXPECT_FALSE(allowed("Dulciana 8, Swell to Great, Violin Diapason 8, Mixture II"));
  // An octave coupler makes no ladder, and needs one.
  EXPECT_FALSE(allowed("Dulciana 8, Violin Diapason 8, Gemshorn 4, Mixture II, Swell Octave to Great"));
  EXPECT_FALSE(allowed("Open Diapason 8, Violin Diapason 8, Swell Octave to Great"));
  EXPECT_TRUE(allowed("Open Diapason 8, Principal 4, Fifteenth 2, Violin Diapason 8, Swell Octave to Great"));
}

TEST(Practice, AClarionIsNeitherOctaveNorUnison) {
  const auto folder = read_organ_folder("demo/town");
  ASSERT_TRUE(folder);
  const Organ& organ = folder->organ;
  const KeyboardIndex great = *keyboard_by_id(organ, "great");
  const auto space = Space::make(organ, stated_chords(organ, great));
  ASSERT_TRUE(space);
  const Practice practice{*space, great, 0};
  const auto state = [&](const std::string& draw) { return *space->state(*parse_registration(organ, draw)); };
  const auto makeshifts = [&](const std::string& draw) {
    return practice.makeshifts(state(draw).linking, state(draw).stops);
  };
  const std::string reeds = "Great: Trumpet 8, Great: Clarion 4";
  EXPECT_EQ(makeshifts("Great: Open Diapason I 8, Great: Mixture III, " + reeds), 1);
  EXPECT_EQ(makeshifts("Great: Open Diapason I 8, Great: Principal 4, Great: Mixture III, " + reeds), 0);
  EXPECT_EQ(makeshifts("Great: Dulciana 8, " + reeds), 2);
  EXPECT_EQ(makeshifts("Great: Open Diapason I 8, Great: Trumpet 8"), 0);
  EXPECT_EQ(makeshifts("Great: Dulciana 8, Great: Trumpet 8"), 1);
  // A Tierce stands on a 4 ft flue.
  EXPECT_EQ(makeshifts("Great: Open Diapason I 8, Choir: Tierce 1 3/5, Choir to Great"), 1);
  EXPECT_EQ(makeshifts("Great: Open Diapason I 8, Great: Principal 4, Choir: Tierce 1 3/5, Choir to Great"), 0);
  EXPECT_EQ(makeshifts("Great: Open Diapason I 8, Great: Clarion 4"), 1);
  const std::string chorus = "Great: Open Diapason I 8, Great: Principal 4, Great: Fifteenth 2, ";
  const auto a_step = [&](const std::string& draw) {
    return practice.allows(state(draw).linking, state(draw).stops, Manner::chorus);
  };
  EXPECT_TRUE(a_step(chorus + reeds));
  EXPECT_FALSE(a_step(chorus + "Great: Clarion 4"));
}

}  // namespace
}  // namespace calcant
