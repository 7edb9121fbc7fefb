// Words of a printed copy in a plan: followed where the organ has it and a hand is free, told where not, and behind the
// user's own wishes. What the words mean is common practice of English copies (no source); the organ is the demo village's.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "engine/plan/check_music.hpp"
#include "engine/plan/piece.hpp"
#include "engine/playing/by_hand_test.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

using testing::Contains;
using testing::HasSubstr;
using testing::IsEmpty;

struct Said {
  int bar;
  const char* text;
  int stave = -1;
};

// Eight bars of four crotchets at 60: right hand, left hand, feet; mf throughout. From bar 5 on the copy may ask for
// something; where `rests`, all rest through bar 4.
Score eight_bars(const std::vector<Said>& words, bool rests) {
  std::vector<by_hand::Played> notes;
  for (int q = 0; q < 32; ++q) {
    if (rests && q >= 12 && q < 16) continue;
    notes.push_back({72 + q % 4, Rational{q}, Rational{1}, 0});
    notes.push_back({67 + q % 3, Rational{q}, Rational{1}, 0});
    notes.push_back({50 + q % 3, Rational{q}, Rational{1}, 1});
    notes.push_back({57 + q % 3, Rational{q}, Rational{1}, 1});
    if (q % 2 == 0) notes.push_back({38 + q % 5, Rational{q}, Rational{2}, 2});
  }
  Score s = by_hand::score(notes, {Role::right_hand, Role::left_hand, Role::feet});
  by_hand::direct(s, Direction::Kind::dynamics, 0, "mf");
  for (const Said& w : words) by_hand::direct(s, Direction::Kind::words, w.bar - 1, w.text, w.stave);
  return s;
}

class CopyInAPlan : public testing::Test {
 protected:
  const Item& plan(const std::vector<Said>& words, bool rests, Piece piece = {}, const std::vector<Knob>& never = {}) {
    score_ = eight_bars(words, rests);
    piece.title = "By hand";
    piece.tempo = 60;
    plan_ = {};
    VocabularyWish wish;
    wish.never = never;
    EXPECT_TRUE(plan_piece(plan_, organ_, listening_, score_, piece, player_, wish, {}));
    EXPECT_THAT(faults(), IsEmpty());
    return plan_.items.at(0);
  }
  [[nodiscard]] std::vector<std::string> faults() const {
    return check_piece(organ_, plan_, 0, score_, Tempo(score_, assumed_tempo, 60.0), player_);
  }
  [[nodiscard]] bool drawn(const Section& s, const char* id) const {
    if (const auto c = coupler_by_id(organ_, id)) return s.drawn.couplers[static_cast<std::size_t>(*c)];
    return s.drawn.stops[static_cast<std::size_t>(stop_by_id(organ_, id).value())];
  }
  [[nodiscard]] std::vector<std::string> of_division(const Section& s, const char* id) const {
    std::vector<std::string> out;
    for (std::size_t i = 0; i < organ_.stops.size(); ++i) {
      if (s.drawn.stops[i] && organ_.stops[i].division == division_by_id(organ_, id)) out.push_back(organ_.stops[i].id);
    }
    return out;
  }
  [[nodiscard]] static const Section& at(const Item& item, const char* label) {
    for (const Section& s : item.sections) {
      if (s.label == label) return s;
    }
    ADD_FAILURE() << "no section " << label;
    return item.sections.front();
  }
  // The reasons a section gives, in one.
  [[nodiscard]] static std::string why(const Section& s) {
    std::string all;
    for (const std::string& w : s.why) all += w + " ";
    return all;
  }

  Organ organ_ = read_organ_folder("demo/village")->organ;
  Listening listening_{organ_, usual_condition(organ_)};
  Player player_ = default_player();
  Score score_;
  Plan plan_;
};

TEST_F(CopyInAPlan, StopsCouplersAndBoxAreTaken) {
  const Item& item = plan({{1, "Gt. Diapason 8", 0},
                           {1, "Gt.", 1},
                           {1, "Ped. 16, Gt. to Ped.", 2},
                           {5, "Sw. Oboe, Gedackt 8", 0},
                           {5, "Sw. box closed", 0},
                           {5, "Sw.", 1},
                           {5, "Gt. to Ped. off", 2}},
                          true);
  const Section& first = item.sections.front();
  EXPECT_THAT(of_division(first, "great"), testing::ElementsAre("gt-open"));
  EXPECT_THAT(of_division(first, "pedal"), Contains("pd-bourdon"));
  EXPECT_TRUE(drawn(first, "gt-pd"));
  EXPECT_THAT(why(first), HasSubstr("as the copy asks: \"Gt. Diapason 8\""));
  const Section& then = at(item, "Bar 5, beat 1");
  EXPECT_THAT(of_division(then, "swell"), testing::ElementsAre("sw-gedackt", "sw-oboe"));
  EXPECT_FALSE(drawn(then, "gt-pd"));
  EXPECT_EQ(then.drawn.box[0], 0.0F);
  EXPECT_EQ(then.copy.size(), 3U);
  for (const CopyHeed& h : then.copy) EXPECT_TRUE(h.followed) << h.text << ": " << h.instead;
}

TEST_F(CopyInAPlan, WhatNoHandHasTimeForIsToldWithAnotherWay) {
  const Item& item = plan({{1, "Gt. Flute 8, Ped. 16"}, {5, "Sw. to Gt., Gt. Diapason, Principal"}}, false);
  for (const Cue& c : plan_.cues) EXPECT_NE(c.mover, Mover::helper);
  EXPECT_THAT(item.remarks, Contains(testing::AllOf(HasSubstr("is not followed"), HasSubstr("No hand has time for"),
                                                    HasSubstr("or a helper"))));
}

TEST_F(CopyInAPlan, WhatTheOrganHasNotIsToldWithAnotherWay) {
  const Item& item = plan({{5, "Ped. reed", 2}, {5, "Ch. to Gt."}, {5, "Ch./Sw."}}, true);
  EXPECT_THAT(item.remarks, Contains(HasSubstr("\"Ped. reed\" wants Pedal reed drawn: not on this organ. Another way: "
                                               "Oboe 8 by Swell to Pedal.")));
  EXPECT_THAT(item.remarks, Contains(HasSubstr("\"Ch. to Gt.\" wants Choir to Great drawn: not on this organ.")));
  EXPECT_THAT(item.remarks, Contains(HasSubstr("The plan leaves it to you.")));
}

TEST_F(CopyInAPlan, TheUsersWishesStandBeforeIt) {
  Piece piece;
  PlaceWish wish;
  wish.bar_index = 4;
  wish.wish = "soft";
  piece.wishes = {wish};
  const Item& item = plan({{5, "Full Swell"}}, true, piece);
  const Section& s = at(item, "Bar 5, beat 1");
  EXPECT_FALSE(drawn(s, "sw-oboe") && drawn(s, "sw-mixture"));
  ASSERT_EQ(s.copy.size(), 1U);
  EXPECT_FALSE(s.copy[0].followed);
  EXPECT_THAT(item.remarks, Contains(HasSubstr("Your own wish")));

  const Knob coupler{Knob::Kind::coupler, *coupler_by_id(organ_, "sw-gt")};
  const Item& forbidden = plan({{5, "Sw. to Gt."}}, true, {}, {coupler});
  for (const Section& one : forbidden.sections) EXPECT_FALSE(drawn(one, "sw-gt"));
  EXPECT_THAT(forbidden.remarks, Contains(HasSubstr("you have forbidden it")));
}

// Faults planted: a word said to be followed that is not, one nothing is said of, one that is not in the copy.
TEST_F(CopyInAPlan, TheCheckFindsWhatIsSaidWrongly) {
  plan({{5, "Sw. to Gt."}}, true);
  Section& s = const_cast<Section&>(at(plan_.items[0], "Bar 5, beat 1"));
  ASSERT_EQ(s.copy.size(), 1U);
  ASSERT_TRUE(s.copy[0].followed);
  const Plan good = plan_;
  s.drawn.couplers.reset(static_cast<std::size_t>(*coupler_by_id(organ_, "sw-gt")));
  EXPECT_THAT(faults(), Contains(HasSubstr("and it is not")));
  plan_ = good;
  s.copy.clear();
  EXPECT_THAT(faults(), Contains(HasSubstr("nothing is said")));
  plan_ = good;
  s.copy.push_back({"Full Organ", "the full organ", false, "?"});
  EXPECT_THAT(faults(), Contains(HasSubstr("not in the copy")));
}

}  // namespace
}  // namespace calcant
