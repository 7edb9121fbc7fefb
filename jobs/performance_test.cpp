// A planned hymn as pipes in time.
#include "jobs/performance.hpp"

#include <gtest/gtest.h>

#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

// Two crotchets on C4, then one on D4, sung twice; one 8 ft stop in verse 1, another in verse 2.
TEST(Performance, PlaysEachVerseWithItsOwnRegistration) {
  const auto folder = read_organ_folder("demo/village");
  ASSERT_TRUE(folder);
  const Organ& organ = folder->organ;
  Score score;
  score.staves.resize(1);
  score.staves[0].role = Role::right_hand;
  score.bars.resize(1);
  score.bars[0].length = Rational{3};
  score.turns = {{0, 1, Rational{0}}};
  for (int i = 0; i < 3; ++i) {
    WrittenNote n;
    n.id = static_cast<NoteId>(i);
    n.at = Rational{i};
    n.length = Rational{1};
    n.note = Note{i < 2 ? 60 : 62};
    score.notes.push_back(n);
  }
  Plan plan;
  Item item;
  for (int v = 1; v <= 2; ++v) {
    Section s;
    s.from.verse = v;
    s.drawn.box.fill(1);
    s.drawn.stops.set(v == 1 ? 0 : 1);
    s.keyboards.right = 0;
    item.sections.push_back(s);
  }
  plan.items = {item};
  const Performance p = perform(organ, plan, 0, score, {60, std::nullopt, 2});
  ASSERT_EQ(p.events.size(), 6U);
  // Struck again at once: let go a sixteenth of a second before, so that it is heard twice.
  EXPECT_DOUBLE_EQ(p.events[0].on.value(), 0);
  EXPECT_DOUBLE_EQ(p.events[0].off.value(), 1 - 1.0 / 16);
  EXPECT_DOUBLE_EQ(p.events[1].on.value(), 1);
  EXPECT_EQ(p.events[0].pipe, p.events[1].pipe);
  // Verse 2 begins after 3 s of music and 2 s of gap, on the other stop's rank.
  EXPECT_DOUBLE_EQ(p.events[3].on.value(), 5);
  EXPECT_NE(p.events[3].pipe.rank, p.events[0].pipe.rank);
  EXPECT_GE(p.length.value(), 7.9);
}

}  // namespace
}  // namespace calcant
