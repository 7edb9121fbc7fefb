// Verses of a kind, halves of a psalm's verse and the Gloria, as they come out on the demo organs. R28: common practice, the
// margins of 4 and 14 phon are ours; R17: Miller 1913, ch. VI. The organs are invented.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "engine/plan/check.hpp"
#include "engine/plan/check_music.hpp"
#include "engine/plan/hymn.hpp"
#include "engine/plan/lower_hand.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;

struct Sung {
  Organ organ;
  Plan plan;
  [[nodiscard]] const std::vector<Section>& sections() const { return plan.items[0].sections; }
};

Sung sung(const char* folder, Hymn h) {
  Sung out{read_organ_folder(folder)->organ, {}};
  const Listening listening(out.organ, usual_condition(out.organ));
  h.tune = "A tune";
  const auto made = plan_hymn(out.plan, out.organ, listening, h, default_player(), {}, {});
  EXPECT_TRUE(made) << made.error().message;
  EXPECT_THAT(check(out.organ, out.plan), IsEmpty());
  EXPECT_THAT(check_hymn(out.organ, out.plan, 0, h, default_player()), IsEmpty());
  return out;
}
Hymn hymn(const std::vector<std::string>& words) {
  Hymn h;
  for (const std::string& w : words) h.verses.push_back(parse_verse(w));
  return h;
}
// A psalm of so many verses in hands alone, with its Gloria.
Hymn psalm(const std::vector<std::string>& words, const std::string& gloria = "") {
  Hymn h = hymn(words);
  h.kind = ItemKind::psalm;
  h.lines = 2;
  h.bass = Bass::hands;
  Verse last = parse_verse(gloria);
  last.label = "Gloria";
  h.verses.push_back(last);
  return h;
}

// A pedalboard that only pulls manual keys down can be given no 16 ft: that is said once of the hymn, not of each verse. Where
// there is a 16 ft and it is not drawn, the rule (R36) speaks.
TEST(HymnPedal, WhatItCannotHaveIsSaidOnce) {
  const Sung chapel = sung("demo/chapel", hymn({"", "soft", "", "full"}));
  for (const Section& s : chapel.sections()) {
    for (const Advice& a : s.advice) EXPECT_THAT(a.found, testing::Not(HasSubstr("in the pedal"))) << s.label;
  }
  EXPECT_THAT(chapel.plan.items[0].remarks, testing::Contains(HasSubstr("no 16 ft")).Times(1));
  const Organ village = read_organ_folder("demo/village")->organ;
  EXPECT_TRUE(pedals_have_sixteen(village));
  EXPECT_FALSE(pedals_have_sixteen(chapel.organ));
  const Listening listening(village, usual_condition(village));
  Scales scales(listening, hymn_chords(7, false, true, false));
  Registration r;
  r.box.fill(1.0F);
  r.stops.set(static_cast<std::size_t>(*stop_by_id(village, "gt-open")));
  for (std::size_t c = 0; c < village.couplers.size(); ++c)
    r.couplers.set(c, village.couplers[c].name == "Great to Pedal");
  const auto said = advice_on(village, scales, r, usual_hands(village, r, true), Use::hymn);
  EXPECT_TRUE(std::any_of(said.begin(), said.end(), [](const Advice& a) {
    return a.rule == "R36" && a.found.find("in the pedal") != std::string::npos;
  }));
}

// Singers are led from the Great: also by the verse after one whose tune was on a solo stop, where going back is a word.
TEST(Solo, TheVerseAfterItIsLedFromTheGreat) {
  const Sung s = sung("demo/village", hymn({"", "tune on a solo stop", "", ""}));
  const auto& great = s.organ.keyboards[static_cast<std::size_t>(*s.sections()[1].keyboards.right)];
  EXPECT_EQ(great.name, "Great");
  for (const std::size_t verse : {1, 3, 4}) {
    EXPECT_EQ(s.sections()[verse].keyboards.right, s.sections()[1].keyboards.right) << verse;
    EXPECT_EQ(s.sections()[verse].keyboards.left, s.sections()[1].keyboards.left) << verse;
    // Stops are called by their names, not by their pitches.
    EXPECT_THAT(s.sections()[verse].why.front(), HasSubstr("Great Open Diapason")) << verse;
  }
}

// By its pipes, which check_hymn() looks at apart from the planner (sung()), where the level by itself would have it otherwise.
TEST(VerseWords, KeepMixturesAndReedsOutOrAskForThem) {
  const Sung s =
      sung("demo/village", hymn({"", "full, no mixtures", "full, no reeds", "soft, big reed, with mixture"}));
  EXPECT_EQ(s.sections()[2].kind, "no mixture");
  EXPECT_EQ(s.sections()[2].note, "");
  EXPECT_EQ(s.sections()[3].kind, "no reed");
  EXPECT_EQ(s.sections()[4].kind, "with mixture, with reed");
  // A chapel organ of one manual without mixture or reed says so, and is checked all the same.
  const Sung poor = sung("demo/chapel", hymn({"", "big reed", "no mixtures"}));
  EXPECT_THAT(poor.sections()[2].note, HasSubstr("no reed is to be had here"));
  EXPECT_EQ(poor.sections()[2].kind, "harmony");
  EXPECT_EQ(poor.sections()[3].kind, "no mixture");
}

// The checker finds a mixture that was to be left out.
TEST(VerseWords, AreCheckedByThePipes) {
  Hymn h = hymn({"full, with mixture"});
  const Sung s = sung("demo/village", h);
  h.tune = "A tune";
  h.verses[0].stops.mixture = false;
  EXPECT_THAT(check_hymn(s.organ, s.plan, 0, h, default_player()), testing::Contains(HasSubstr("mixture")));
}

class Solo : public testing::TestWithParam<const char*> {};

TEST_P(Solo, IsOneVoiceClearOfWhatIsUnderIt) {
  const Sung s = sung("demo/village", hymn({"", GetParam(), "full"}));
  const Organ& organ = s.organ;
  const Section& solo = s.sections()[2];
  ASSERT_EQ(solo.kind, "tune on a solo stop");
  ASSERT_TRUE(solo.keyboards.right && solo.keyboards.left);
  ASSERT_NE(solo.keyboards.right, solo.keyboards.left);
  const Listening listening(organ, usual_condition(organ));
  // The right hand plays the tune and nothing else.
  const auto chords = tune_apart(hymn_chords(7, false, true, false));
  for (const Chord& c : chords) EXPECT_EQ(c.right.size(), 1);
  Scales scales(listening, chords);
  const double above =
      (scales.all(solo.drawn, {solo.keyboards.right, {}, {}}) - scales.all(solo.drawn, {{}, solo.keyboards.left, {}}))
          .value();
  EXPECT_GE(above, 4.0) << solo.why.front();
  EXPECT_LE(above, 14.0) << solo.why.front();
  const auto home = [&](KeyboardIndex k) { return organ.keyboards[static_cast<std::size_t>(k)].division; };
  bool voice = false;
  for (std::size_t i = 0; i < organ.stops.size(); ++i) {
    const Stop& stop = organ.stops[i];
    if (!solo.drawn.stops[i] || stop.division != home(*solo.keyboards.right)) continue;
    const bool eight = !stop.feet.empty() && stop.feet.front().semitones() == 0;
    voice =
        voice ||
        (eight && (stop.family == Family::reed || stop.family == Family::principal || stop.family == Family::flute));
  }
  EXPECT_TRUE(voice) << solo.why.front();
  // Nothing between the manuals; the pedal has no coupler but from under the left hand.
  for (std::size_t c = 0; c < organ.couplers.size(); ++c) {
    const Coupler& coupler = organ.couplers[c];
    if (!solo.drawn.couplers[c]) continue;
    EXPECT_EQ(coupler.from, *solo.keyboards.feet) << coupler.name;
    EXPECT_EQ(coupler.to, home(*solo.keyboards.left)) << coupler.name;
  }
  for (const Advice& a : solo.advice) EXPECT_NE(a.rule, "R17") << a.found;
  EXPECT_EQ(solo.note, "");
}
INSTANTIATE_TEST_SUITE_P(Words, Solo, testing::Values("tune on a solo stop", "soft, tune on a reed", "solo, loud"));

TEST(Solos, OnOneManualIsLedInsteadAndSaysSo) {
  const Sung s = sung("demo/chapel", hymn({"", "tune on a solo stop, firm", "full"}));
  const Section& verse = s.sections()[2];
  EXPECT_EQ(verse.kind, "harmony");
  EXPECT_EQ(verse.keyboards.right, verse.keyboards.left);
  EXPECT_THAT(verse.note, HasSubstr("no second manual"));
  EXPECT_EQ(verse.wish, "firm");
}

TEST(NoPedal, NothingIsSaidOfWhatStaysDrawnForTheFeet) {
  const Sung s = sung("demo/village", hymn({"firm", "solo, soft", "no pedal, dark", "no pedal"}));
  for (const Section& verse : s.sections()) {
    if (verse.keyboards.feet) continue;
    for (const Advice& a : verse.advice) {
      EXPECT_NE(a.rule, "R17") << a.found;
      EXPECT_THAT(a.found, testing::Not(HasSubstr("edal"))) << a.rule;
    }
  }
}

TEST(Words, OfLevelAreHeardApart) {
  const Sung s = sung("demo/village", hymn({"moderate", "very soft", "loud", "louder", "rather soft"}));
  const auto level = [&](std::size_t v) { return s.sections()[v].loudness->value(); };
  EXPECT_LT(level(2), level(5));
  EXPECT_LT(level(5), level(1));
  EXPECT_LT(level(1), level(3));
  EXPECT_LE(level(3), level(4) + 0.5);
  for (const Section& v : s.sections()) EXPECT_EQ(v.note, "");
}

TEST(Words, BesideWhatGoesBeforeAreHeardOrTold) {
  for (const char* folder : {"demo/village", "demo/chapel"}) {
    const Sung s = sung(folder, hymn({"firm", "dark", "softer", "softer", "softer", "louder", "louder"}));
    for (std::size_t v = 3; v <= 7; ++v) {
      const double step = (*s.sections()[v].loudness - *s.sections()[v - 1].loudness).value();
      const double way = v <= 5 ? -step : step;
      EXPECT_TRUE(way >= 0.9 || s.sections()[v].note.find(v <= 5 ? "no softer" : "no louder") != std::string::npos)
          << folder << ' ' << v << ' ' << step << s.sections()[v].note;
      EXPECT_THAT(s.sections()[v].note, testing::Not(HasSubstr("brighter")));
    }
  }
}

TEST(Words, DeniedAreNotPlannedAndAreTold) {
  const Sung s = sung("demo/village", hymn({"", "not soft", ""}));
  const Sung plain = sung("demo/village", hymn({"", "", ""}));
  EXPECT_EQ(s.sections()[2].drawn, plain.sections()[2].drawn);
  EXPECT_EQ(s.sections()[2].wish, "");
  EXPECT_THAT(s.sections()[2].note, HasSubstr("not soft"));
  EXPECT_THAT(s.sections()[2].why.front(), testing::Not(HasSubstr("for \u201c")));
}

class Halves : public testing::TestWithParam<std::tuple<const char*, const char*>> {};

// A word of its own for the second half is heard (1 phon, or a clear shade of colour), or the plan says that it is not.
TEST_P(Halves, AreHeardOrTold) {
  const auto& [folder, words] = GetParam();
  const Sung s = sung(folder, psalm({"plain", words, "plain"}));
  const Section& a = s.sections()[2];
  const Section& b = s.sections()[3];
  ASSERT_EQ(b.label, "Verse 2, second half");
  const bool moved = a.drawn != b.drawn || a.keyboards != b.keyboards;
  if (b.note.empty()) EXPECT_TRUE(moved) << a.why.front() << b.why.front();
  else EXPECT_THAT(b.note, HasSubstr("than the first half"));
  const Listening listening(s.organ, usual_condition(s.organ));
  std::size_t knobs = 0;
  for (const Cue& c : s.plan.cues) {
    if (c.section == 3) knobs += c.draw.size() + c.put_in.size();
  }
  EXPECT_EQ(knobs, 0U);  // both hands play: there is no time for one
}
INSTANTIATE_TEST_SUITE_P(OnTheOrgans, Halves,
                         testing::Combine(testing::Values("demo/village", "demo/chapel"),
                                          testing::Values("gentle | dark", "hushed | full", "loud | soft")));

TEST(Halves, OnTwoManualsAreHeard) {
  for (const char* words : {"gentle | dark", "hushed | full", "loud | soft"}) {
    const Sung s = sung("demo/village", psalm({"plain", words, "plain"}));
    EXPECT_EQ(s.sections()[3].note, "") << words;
  }
}

// A psalm's words mean little in level, and are heard or told all the same.
TEST(Psalms, WordsOfWholeVersesAreHeardOrTold) {
  for (const char* folder : {"demo/village", "demo/chapel"}) {
    const Sung s = sung(folder, psalm({"", "gentle", "", "dark", "warm", "full"}));
    for (std::size_t v = 2; v <= 6; ++v) {
      const Section& verse = s.sections()[v];
      if (verse.wish.empty()) continue;
      const Section& before = s.sections()[v - 1];
      const bool moved = verse.drawn != before.drawn || verse.keyboards != before.keyboards;
      EXPECT_TRUE(moved || !verse.note.empty() || verse.wish == "warm") << folder << ' ' << verse.wish;
      EXPECT_THAT(verse.note, testing::Not(HasSubstr("brighter"))) << verse.wish;
    }
  }
}

class Gloria : public testing::TestWithParam<std::tuple<const char*, const char*>> {};

TEST_P(Gloria, IsNeverSofterThanTheLastVerse) {
  const auto& [folder, last] = GetParam();
  const Sung s = sung(folder, psalm({"", "soft", last}));
  const auto& sections = s.sections();
  EXPECT_EQ(sections.back().label, "Gloria");
  EXPECT_GE(sections.back().loudness->value(), sections[sections.size() - 2].loudness->value() - 0.05) << last;
  EXPECT_EQ(sections.back().wish, "");
}
INSTANTIATE_TEST_SUITE_P(OnTheOrgans, Gloria,
                         testing::Combine(testing::Values("demo/village", "demo/chapel"),
                                          testing::Values("", "full", "soft", "soft | ff")));

TEST(Gloria, GoesByItsWordWhereThereIsOne) {
  const Sung s = sung("demo/village", psalm({"", "full"}, "very soft"));
  const auto& sections = s.sections();
  EXPECT_LT(*sections.back().loudness, *sections[sections.size() - 2].loudness);
}

// Which hand is the lower one is told by the notes it plays, not by its name (R17).
TEST(LowerHand, IsTheOneWithTheLowestNotes) {
  const auto chord = [](std::initializer_list<int> right, std::initializer_list<int> left) {
    Chord c;
    for (const int n : right) c.right.insert(n);
    for (const int n : left) c.left.insert(n);
    return c;
  };
  EXPECT_TRUE(left_is_lower({chord({72}, {48})}));
  EXPECT_FALSE(left_is_lower({chord({60, 64}, {76})}));  // crossed over
  EXPECT_FALSE(left_is_lower({chord({60}, {})}));
  EXPECT_FALSE(left_is_lower({chord({60}, {76}), chord({60}, {76}), chord({72}, {48})}));
  EXPECT_TRUE(left_is_lower({}));
  const HandsAndFeet on{1, 0, 2};
  EXPECT_EQ(lower_hand(on, true), 0);
  EXPECT_EQ(lower_hand(on, false), 1);
  EXPECT_EQ(lower_hand({1, {}, 2}, true), 1);
}

}  // namespace
}  // namespace calcant
