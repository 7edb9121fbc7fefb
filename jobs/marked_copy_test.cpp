// A marked copy of the demo voluntary bears feet and manuals, and without our marks it is what it was made from.
#include "jobs/marked_copy.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <sstream>

#include "files/musicxml/marked.hpp"
#include "jobs/context.hpp"
#include "jobs/fixed_foot.hpp"
#include "jobs/foot_marks.hpp"

namespace calcant {
namespace {

using testing::HasSubstr;

ReadScore voluntary() { return read_score("demo/village/music/voluntary-in-d.musicxml").value(); }

TEST(MarkedCopy, WithoutOurMarksItIsTheInput) {
  const OrganContext village = open_organ("demo/village").value();
  const ReadScore read = voluntary();
  Plan plan;
  Item item;
  item.kind = ItemKind::piece;
  Section first;
  set_drawn(first.drawn, {Knob::Kind::stop, 0}, true);
  first.keyboards.right = first.keyboards.left = 0;
  item.sections = {first};
  plan.items = {item};
  const Tempo tempo(read.score, 80);
  const auto feet = feet_in_plan(village.organ, plan, 0, read.score, default_player(), tempo);
  ASSERT_TRUE(feet);
  const auto marked = marked_copy(village.organ, plan, 0, read, &*feet, true);
  ASSERT_TRUE(marked) << sentence(marked.error());
  EXPECT_THAT(*marked, HasSubstr("<toe placement=\"below\"/>"));
  EXPECT_THAT(*marked, HasSubstr("<words font-weight=\"bold\">Gt</words>"));
  EXPECT_EQ(musicxml::remove_marks(*marked).value(), read.bytes);
}

// A foot is in one place: while it opens the box over a hairpin (here bars 5 and 6 of the voluntary, whose pedals move in
// both) it marks no pedal; a helper's hand on the lever leaves it free.
TEST(MarkedCopy, TheFootOnTheLeverMarksNoPedal) {
  const OrganContext village = open_organ("demo/village").value();
  const ReadScore read = voluntary();
  const Tempo tempo(read.score, 72);
  Plan plan;
  Item item;
  item.kind = ItemKind::piece;
  item.sections.resize(2);
  Cue cue;
  cue.section = 1;
  cue.boxes = {{0, 0.4F}};
  const auto at_bar = [&](const std::string& label) {
    Moment m;
    for (std::size_t b = 0; b < read.score.bars.size(); ++b) {
      if (read.score.bars[b].label == label) m.bar_index = static_cast<int>(b);
    }
    m.bar = label;
    return m;
  };
  cue.moment = at_bar("5");
  item.sections[1].from = at_bar("7");
  plan.items = {item};
  const auto right_between = [&](Mover mover) {
    cue.mover = mover;
    plan.cues = {cue};
    const auto feet = feet_in_plan(village.organ, plan, 0, read.score, default_player(), tempo);
    EXPECT_TRUE(feet);
    return std::count_if(feet->marks.begin(), feet->marks.end(), [&](const FootMark& m) {
      const int bar = m.moment.bar_index;
      return m.use.foot == Foot::right && cue.moment.bar_index <= bar && bar < item.sections[1].from.bar_index;
    });
  };
  EXPECT_EQ(right_between(Mover::foot), 0);
  EXPECT_GT(right_between(Mover::helper), 0);
}

// What is drawn at the beginning stands a line a division, what is changed at one place in lines of one mark.
TEST(MarkedCopy, WordsStandInShortLines) {
  const OrganContext village = open_organ("demo/village").value();
  const ReadScore read = voluntary();
  Plan plan;
  Item item;
  item.kind = ItemKind::hymn;
  Section first;
  for (std::size_t s = 0; s < village.organ.stops.size(); ++s) first.drawn.stops.set(s);
  first.keyboards.right = first.keyboards.left = 0;
  Section second = first;
  second.label = "Verse 2";
  second.from.verse = 2;
  Section third = second;
  third.label = "Verse 3";
  third.from.verse = 3;
  item.sections = {first, second, third};
  plan.items = {item};
  Cue cue;
  cue.section = 1;
  cue.moment.verse = 1;
  cue.moment.bar_index = 3;
  cue.put_in = {{Knob::Kind::stop, 0}};
  plan.cues = {cue, cue};
  plan.cues[1].section = 2;
  const auto marked = marked_copy(village.organ, plan, 0, read, nullptr, false);
  ASSERT_TRUE(marked) << sentence(marked.error());
  // The words of the mark that begins so.
  const auto ours = [&](const std::string& begins) {
    const auto at = marked->find("xml:space=\"preserve\">" + begins);
    return at == std::string::npos ? std::string{} : marked->substr(at + 21, marked->find("</words>", at) - at - 21);
  };
  const std::string head = ours("Gt ");
  EXPECT_THAT(head, HasSubstr("\nSw "));
  EXPECT_THAT(head, HasSubstr("\nPed "));
  std::istringstream lines(head);
  for (std::string line; std::getline(lines, line);) EXPECT_LE(line.size(), 45U) << line;
  EXPECT_THAT(ours("Verse 2: off "), HasSubstr("\nVerse 3: off "));
  EXPECT_EQ(musicxml::remove_marks(*marked).value(), read.bytes);
}

TEST(FixedFoot, PlacesAndWishesAsTheyAreTyped) {
  const Score s = voluntary().score;
  const auto by_place = parse_fixed_foot(s, "bar 2, beat 3, A2: right toe");
  ASSERT_TRUE(by_place) << sentence(by_place.error());
  EXPECT_EQ(by_place->foot, Foot::right);
  EXPECT_EQ(by_place->part, FootPart::toe);
  EXPECT_EQ(s.notes[by_place->note].note, Note{45});
  const auto by_id = parse_fixed_foot(s, "n" + std::to_string(by_place->note) + ": Lo");
  ASSERT_TRUE(by_id);
  EXPECT_EQ(by_id->note, by_place->note);
  EXPECT_EQ(by_id->foot, Foot::left);
  EXPECT_EQ(by_id->part, FootPart::heel);
  for (const char* wrong : {"", ":", "bar 2: toe", "bar 2, beat 3", "bar 2, beat 3: hand", "bar 2, beat 3: left right",
                            "bar 2, beat 1/0: toe", "bar 2, beat 3, H9: toe", "n99999: toe", "bar 999, beat 1: toe"}) {
    EXPECT_FALSE(parse_fixed_foot(s, wrong)) << wrong;
  }
}

}  // namespace
}  // namespace calcant
