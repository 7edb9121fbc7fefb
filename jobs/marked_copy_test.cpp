// A marked copy of the demo voluntary bears feet and manuals, and without our marks it is what it was made from.
#include "jobs/marked_copy.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

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
