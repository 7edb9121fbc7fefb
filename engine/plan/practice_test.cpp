// Plans read as an organist would. "Quiet verse = 8 (+4) flutes; no use of mixture in every verse": a church musician's
// pages, 2016 (R37); the order from soft to loud is common practice (R4); the pedal's balance is R16. The organs are invented.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "engine/organ/sounding.hpp"
#include "engine/plan/hymn.hpp"
#include "engine/plan/pedal_fit.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

Plan sung(const Organ& organ, const std::vector<std::string>& words) {
  const Listening listening(organ, usual_condition(organ));
  Hymn h;
  h.tune = "A tune";
  for (const std::string& w : words) h.verses.push_back(parse_verse(w));
  Plan plan;
  const auto made = plan_hymn(plan, organ, listening, h, default_player(), {}, {});
  EXPECT_TRUE(made) << made.error().message;
  return plan;
}

// Whether a stop of a part is drawn on a division that this keyboard plays.
bool heard(const Organ& organ, const Section& s, std::initializer_list<ChorusPart> parts) {
  const DivisionIndex home = organ.keyboards[static_cast<std::size_t>(*s.keyboards.right)].division;
  for (std::size_t i = 0; i < organ.stops.size(); ++i) {
    const Stop& stop = organ.stops[i];
    if (!s.drawn.stops[i] || std::find(parts.begin(), parts.end(), chorus_part(stop)) == parts.end()) continue;
    if (stop.tremulous_solo) continue;
    const auto coupler = unison_coupler(organ, *s.keyboards.right, stop.division, {});
    if (stop.division == home || (coupler && s.drawn.couplers[static_cast<std::size_t>(*coupler)])) return true;
  }
  return false;
}

class Quiet : public testing::TestWithParam<const char*> {};

TEST_P(Quiet, VersesHaveNoMixtureAndNoChorusReed) {
  const Organ organ = read_organ_folder(GetParam())->organ;
  const Plan plan = sung(organ, {"bold", "quiet", "gentle", "soft", "full"});
  const auto& s = plan.items[0].sections;
  ASSERT_EQ(s.size(), 6U);
  for (std::size_t v = 2; v <= 4; ++v) {
    EXPECT_FALSE(heard(organ, s[v], {ChorusPart::mixture})) << s[v].why.front();
    EXPECT_FALSE(heard(organ, s[v], {ChorusPart::reed8, ChorusPart::big_reed})) << s[v].why.front();
    EXPECT_THAT(s[v].why.front(), testing::Not(testing::HasSubstr("mixture")));
    EXPECT_LT(*s[v].loudness, *s[1].loudness);
  }
  // What is right for a quiet verse is not kept from a full one.
  const bool has_mixture = std::any_of(organ.stops.begin(), organ.stops.end(),
                                       [](const Stop& x) { return chorus_part(x) == ChorusPart::mixture; });
  EXPECT_EQ(heard(organ, s[5], {ChorusPart::mixture}), has_mixture) << s[5].why.front();
}

// A march from paper at ff is drawn to the crown: reed and mixture (R4), though that moves more knobs.
TEST(Loud, APieceFromPaperGetsTheLevelItAsksFor) {
  const Organ organ = read_organ_folder("demo/village")->organ;
  const Listening listening(organ, usual_condition(organ));
  Hymn march;
  march.kind = ItemKind::piece;
  march.tune = "March";
  march.play_over = PlayOver::none;
  for (const char* w : {"f", "p", "ff"}) march.verses.push_back(parse_verse(w));
  Plan plan;
  ASSERT_TRUE(plan_hymn(plan, organ, listening, march, default_player(), {}, {}));
  const auto& s = plan.items[0].sections;
  EXPECT_TRUE(heard(organ, s[2], {ChorusPart::mixture})) << s[2].why.front();
  const auto oboe = static_cast<std::size_t>(*stop_by_id(organ, "sw-oboe"));
  EXPECT_TRUE(s[2].drawn.stops[oboe]) << s[2].why.front();
  EXPECT_EQ(s[2].keyboards.right, leading_manual(organ));
  EXPECT_FALSE(heard(organ, s[1], {ChorusPart::mixture})) << s[1].why.front();
}

// Nothing is drawn that is neither heard nor wanted later: at the beginning there is nothing to keep.
TEST(Idle, AManualThatIsNotPlayedHasNothingDrawn) {
  const Organ organ = read_organ_folder("demo/village")->organ;
  const Listening listening(organ, usual_condition(organ));
  for (const char* word : {"quiet", "p", "f"}) {
    Hymn fill;
    fill.kind = ItemKind::piece;
    fill.tune = "Music to fill";
    fill.play_over = PlayOver::none;
    fill.verses = {parse_verse(word)};
    Plan plan;
    ASSERT_TRUE(plan_hymn(plan, organ, listening, fill, default_player(), {}, {}));
    const Section& s = plan.items[0].sections[0];
    KeysDown down;
    for (const auto k : {s.keyboards.right, s.keyboards.feet}) {
      if (k) down.keys[static_cast<std::size_t>(*k)] = organ.keyboards[static_cast<std::size_t>(*k)].keys;
    }
    Sounding sounding(organ);
    const auto notes = sounding.notes(s.drawn, down);
    for (std::size_t i = 0; i < organ.stops.size(); ++i) {
      if (!s.drawn.stops[i]) continue;
      EXPECT_FALSE(notes[static_cast<std::size_t>(organ.stops[i].division)].empty()) << word << organ.stops[i].name;
    }
  }
}

// R16: the pedal is in balance with the manual it carries, not louder, and not a soft bass under a full chorus.
TEST(PedalBalance, TheBassIsOneThatCarriesItsManual) {
  const Organ organ = read_organ_folder("demo/village")->organ;
  const auto pedals = *pedalboard(organ);
  const PedalFit fit(organ, pedals, {}, Placing::together);
  const HandsAndFeet on{0, 0, pedals};
  const auto bass = [&](const char* id) {
    Registration r;
    r.stops.set(static_cast<std::size_t>(*stop_by_id(organ, id)));
    r.couplers.set(static_cast<std::size_t>(*fit.follows(on)));
    return r;
  };
  const Registration bourdon = bass("pd-bourdon");
  const Registration echo = bass("pd-echo");
  EXPECT_LT(fit.against(bourdon, on, {Phons{95}, Phons{92}, Phons{85}, Phons{82}}),
            fit.against(echo, on, {Phons{95}, Phons{92}, Phons{85}, Phons{73}}));
  EXPECT_GT(fit.against(bourdon, on, {Phons{70}, Phons{80}, Phons{79}, Phons{79}}),
            fit.against(echo, on, {Phons{70}, Phons{72}, Phons{68}, Phons{68}}));
  const Plan plan = sung(organ, {"firm", "full"});
  const Section& full = plan.items[0].sections.back();
  EXPECT_TRUE(is_drawn(full.drawn, {Knob::Kind::stop, *stop_by_id(organ, "pd-bourdon")})) << full.why.front();
}

INSTANTIATE_TEST_SUITE_P(OnTheOrgans, Quiet, testing::Values("demo/village", "demo/chapel"));

}  // namespace
}  // namespace calcant
