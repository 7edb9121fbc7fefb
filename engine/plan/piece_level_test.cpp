// A marked level is what the hands play: the pedal belongs to it and never makes it. That a pedal is not louder than the
// manual it carries is R16 (training pages; the 2 phon are ours). The organ and its music are invented.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "engine/plan/objective.hpp"
#include "engine/plan/pedal_fit.hpp"
#include "engine/plan/piece.hpp"
#include "files/musicxml/musicxml.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

TEST(PieceLevel, ALoudBassDoesNotMakeAManualLoud) {
  Aim aim;
  aim.target = Phons{90};
  aim.of_the_hands = true;
  Shade by_the_feet;
  by_the_feet.loudness = Phons{90};
  by_the_feet.hands = Phons{80};
  Shade by_the_hands = by_the_feet;
  by_the_hands.hands = Phons{89.5};
  Aim of_all = aim;
  of_all.of_the_hands = false;
  EXPECT_EQ(own_cost(of_all, by_the_feet), own_cost(aim, by_the_hands));
  EXPECT_GT(own_cost(aim, by_the_feet), 1 + own_cost(aim, by_the_hands));
}

// What a coupler brings to the feet from where the hands are not is the pedal's own loudness; from under them it is theirs.
TEST(PieceLevel, APedalCoupledFromElsewhereIsNotLouderThanTheHands) {
  const Organ organ = read_organ_folder("demo/village")->organ;
  const auto pedals = *pedalboard(organ);
  const PedalFit fit(organ, pedals, {}, Placing::together);
  const KeyboardIndex great = *leading_manual(organ);
  const HandsAndFeet on{great, great, pedals};
  const auto against = [&](const char* coupler, double feet) {
    Registration r;
    r.stops.set(static_cast<std::size_t>(*stop_by_id(organ, "pd-bourdon")));
    r.couplers.set(static_cast<std::size_t>(*coupler_by_id(organ, coupler)));
    return fit.against(r, on, {Phons{82}, Phons{feet}, Phons{80}, Phons{80}});
  };
  EXPECT_LT(against("gt-pd", 88), 1);
  EXPECT_GT(against("sw-pd", 88), 20 + against("sw-pd", 82));
}

class Voluntary : public testing::Test {
 protected:
  void plan(int lost) {
    std::ifstream in("demo/village/music/voluntary-in-d.musicxml", std::ios::binary);
    std::ostringstream text;
    text << in.rdbuf();
    score_ = read_musicxml(text.str(), "voluntary").value();
    Piece piece;
    piece.title = "Voluntary";
    VocabularyWish wish;
    wish.lost.assign(organ_.stops.size(), 0);
    wish.lost[static_cast<std::size_t>(*stop_by_id(organ_, "pd-bourdon"))] = lost;
    ASSERT_TRUE(plan_piece(plan_, organ_, listening_, score_, piece, default_player(), wish, {}));
  }
  [[nodiscard]] const std::vector<Section>& sections() const { return plan_.items[0].sections; }
  [[nodiscard]] Phons hands(const char* label) {
    Scales scales(listening_, sampled_chords(score_, 6));
    for (const Section& s : sections()) {
      if (s.label == label) return scales.hands(s.drawn, s.keyboards);
    }
    ADD_FAILURE() << "no section " << label;
    return Phons{0};
  }
  Organ organ_ = read_organ_folder("demo/village")->organ;
  Listening listening_{organ_, usual_condition(organ_)};
  Score score_;
  Plan plan_;
};

// One dead note of the Bourdon, wanted seven times, does not turn the f of bar 26 into one flute over a full pedal.
TEST_F(Voluntary, OneDeadNoteOfThePedalDoesNotTakeTheManualsLevel) {
  for (const int lost : {0, 7}) {
    SCOPED_TRACE(lost);
    plan_ = {};
    plan(lost);
    EXPECT_GT(hands("Bar 26, beat 1").value(), hands("Bar 1, beat 1").value() + 6);
    EXPECT_GE(hands("Bar 34, beat 1").value(), hands("Bar 26, beat 1").value());
    for (const Section& s : sections()) {
      if (s.keyboards.right != s.keyboards.left) continue;
      for (const Advice& a : s.advice) EXPECT_THAT(a.found, testing::Not(testing::HasSubstr("louder than"))) << s.label;
    }
  }
}

// The copy's own words go before what the plan would draw, and what is done of one in part is not said to be left.
TEST_F(Voluntary, TheCopysStopsAreDrawn) {
  plan(0);
  bool solo = false;
  for (const Section& s : sections()) {
    if (s.label == "Bar 10, beat 1") {
      solo = true;
      EXPECT_EQ(s.copy.size(), 3U);  // Sw. Oboe, Gt. Flute 8, Gt. to Ped. off
      for (const CopyHeed& h : s.copy) EXPECT_TRUE(h.followed) << h.text << ": " << h.instead;
    }
    if (s.label == "Bar 26, beat 1") {
      ASSERT_FALSE(s.copy.empty());
      EXPECT_EQ(s.copy[0].text, "Gt. Diapasons");
      EXPECT_TRUE(s.copy[0].followed || s.copy[0].in_part) << s.copy[0].instead;
    }
    EXPECT_THAT(s.why.front(), testing::Not(testing::HasSubstr("for louder"))) << s.label;
  }
  EXPECT_TRUE(solo);
}

}  // namespace
}  // namespace calcant
