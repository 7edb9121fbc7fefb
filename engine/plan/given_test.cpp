// What the user gives a plan is kept to the letter, and the rest is planned round it. Scores by hand; the organ invented.
#include "engine/plan/given.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "engine/plan/check.hpp"
#include "engine/plan/check_music.hpp"
#include "engine/plan/hymn.hpp"
#include "engine/plan/piece.hpp"
#include "engine/playing/by_hand_test.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;

class Given : public testing::Test {
 protected:
  [[nodiscard]] Knob knob(const char* id) const { return {Knob::Kind::stop, *stop_by_id(organ_, id)}; }

  // Twelve bars of four crotchets, both hands; everything rests on the last beat of every other bar. p, in bar 5 f, in bar 9 ff.
  static Score marked() {
    std::vector<by_hand::Played> notes;
    for (int q = 0; q < 48; ++q) {
      if (q % 8 == 7) continue;
      notes.push_back({67 + q % 3, Rational{q}, Rational{1}, 0});
      notes.push_back({55 + q % 2, Rational{q}, Rational{1}, 1});
    }
    Score s = by_hand::score(notes, {Role::right_hand, Role::left_hand});
    const char* marks[] = {"p", "f", "ff"};
    for (int i = 0; i < 3; ++i) by_hand::direct(s, Direction::Kind::dynamics, 4 * i, marks[i]);
    return s;
  }
  Plan planned(const Score& score, const std::vector<PlaceWish>& wishes) {
    Piece piece;
    piece.title = "By hand";
    piece.tempo = 60;
    piece.wishes = wishes;
    Plan plan;
    const auto made = plan_piece(plan, organ_, listening_, score, piece, player_, {}, {});
    EXPECT_TRUE(made) << made.error().message;
    EXPECT_THAT(check(organ_, plan), IsEmpty());
    EXPECT_THAT(check_piece(organ_, plan, 0, score, Tempo(score, 60, 60), player_), IsEmpty());
    return plan;
  }
  static const Section& at(const Plan& plan, int bar) {
    const auto& sections = plan.items[0].sections;
    const auto s =
        std::find_if(sections.begin(), sections.end(), [&](const Section& x) { return x.from.bar_index == bar; });
    EXPECT_NE(s, sections.end()) << bar;
    return *s;
  }

  Organ organ_ = read_organ_folder("demo/chapel")->organ;
  Listening listening_{organ_, usual_condition(organ_)};
  Player player_ = default_player();
};

TEST_F(Given, AChangeAtABarIsMadeThereAndNoOther) {
  const Score score = marked();
  PlaceWish wish{6, Rational{0}, "", {}, {}, 1};
  wish.change = GivenChange{{knob("mn-dulciana")}, {}, {}, {}, "a colour"};
  const Plan plan = planned(score, {wish});
  const Section& before = at(plan, 4);
  const Section& here = at(plan, 6);
  EXPECT_FALSE(is_drawn(before.drawn, knob("mn-dulciana")));  // so that the change has something to do
  EXPECT_EQ(here.drawn, with(before.drawn, *wish.change));
  EXPECT_TRUE(here.fixed);
  EXPECT_EQ(here.why, std::vector<std::string>{"Fixed by you: Dulciana 8 drawn; a colour."});
  const auto cue = std::find_if(plan.cues.begin(), plan.cues.end(), [](const Cue& c) { return c.fixed; });
  ASSERT_NE(cue, plan.cues.end());
  EXPECT_EQ(cue->draw, std::vector<Knob>{knob("mn-dulciana")});
  EXPECT_THAT(cue->put_in, IsEmpty());
  // The copy's next mark is planned again, and heard.
  EXPECT_FALSE(at(plan, 8).fixed);
  EXPECT_GT(*at(plan, 8).loudness, *here.loudness);
}

// The f of bar 5 is struck out: nothing is moved there, and its change is made in bar 4 instead.
TEST_F(Given, ACueIsStruckOutAndMovedToAnotherBar) {
  const Score score = marked();
  const Plan usual = planned(score, {});
  ASSERT_NE(at(usual, 4).drawn, at(usual, 0).drawn);
  PlaceWish nothing{4, Rational{0}, "", {}, {}, 1};
  nothing.change = GivenChange{};
  const Plan struck = planned(score, {nothing});
  EXPECT_EQ(at(struck, 4).drawn, at(struck, 0).drawn);
  EXPECT_EQ(at(struck, 0).drawn, at(usual, 0).drawn);
  EXPECT_THAT(at(struck, 4).why, testing::ElementsAre("Fixed by you: nothing is moved here."));
  EXPECT_TRUE(std::none_of(struck.cues.begin(), struck.cues.end(), [](const Cue& c) { return c.section == 1; }));
  EXPECT_GT(*at(struck, 8).loudness, *at(struck, 4).loudness);

  PlaceWish moved{2, Rational{0}, "", {}, {}, 1};
  moved.change = GivenChange{newly_drawn(organ_, at(usual, 0).drawn, at(usual, 4).drawn),
                             newly_drawn(organ_, at(usual, 4).drawn, at(usual, 0).drawn),
                             {},
                             {},
                             ""};
  const Plan other = planned(score, {moved, nothing});
  EXPECT_EQ(at(other, 2).drawn.stops, at(usual, 4).drawn.stops);
  EXPECT_EQ(at(other, 4).drawn, at(other, 2).drawn);
}

// Where no registration makes sense of a change it is kept all the same, and told.
TEST_F(Given, AChangeThatHasNothingToDoIsTold) {
  const Score score = marked();
  PlaceWish twice{6, Rational{0}, "", {}, {}, 1};
  twice.change = GivenChange{{knob("mn-dulciana")}, {}, {}, {}, ""};
  PlaceWish again = twice;
  again.bar_index = 7;
  const Plan plan = planned(score, {twice, again});
  EXPECT_EQ(at(plan, 7).drawn, at(plan, 6).drawn);
  EXPECT_THAT(plan.items[0].remarks, testing::Contains(HasSubstr("Bar 8, beat 1: part of the change")));
}

TEST_F(Given, AVerseIsTheOneBeforeItChangedSo) {
  Hymn h;
  h.tune = "By hand";
  h.verses.resize(4);
  h.verses[0].wish = "soft";
  h.verses[2].wish = "full";
  h.verses[2].change = GivenChange{{}, {}, {}, {}, ""};
  h.verses[3].wish = "soft";
  h.verses[3].change = GivenChange{{knob("mn-dulciana")}, {}, {}, {}, ""};
  Plan plan;
  const auto made = plan_hymn(plan, organ_, listening_, h, player_, {}, {});
  ASSERT_TRUE(made) << made.error().message;
  EXPECT_THAT(check(organ_, plan), IsEmpty());
  EXPECT_THAT(check_hymn(organ_, plan, 0, h, player_), IsEmpty());
  const auto& s = plan.items[0].sections;
  ASSERT_EQ(s.size(), 5U);  // the play-over and four verses
  EXPECT_EQ(s[3].drawn, s[2].drawn);
  EXPECT_EQ(s[4].drawn, with(s[3].drawn, *h.verses[3].change));
  EXPECT_FALSE(is_drawn(s[3].drawn, knob("mn-dulciana")));
  EXPECT_TRUE(s[3].fixed && s[4].fixed && !s[2].fixed);
}

}  // namespace
}  // namespace calcant
