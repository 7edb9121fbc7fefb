#include "files/planfile/planfile.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

PlanFile sample(const Organ& organ) {
  PlanFile f;
  f.organ_id = organ.id;
  f.organ_hash = "abc";
  f.score_name = "tune.musicxml";
  f.staves = {{1, "Organ", "right hand", "upper of two", organ.keyboards[0].id}};
  f.plan.initial.stops.set(0);
  f.plan.initial.box.fill(1);
  f.plan.initial_keyboards = {0, 0, 2};
  Item item;
  item.title = "A tune";
  Section s;
  s.label = "Verse 1";
  s.from = {"3a", 2, Rational{7, 3}, 1, 1, 2};
  s.drawn = f.plan.initial;
  s.keyboards = f.plan.initial_keyboards;
  s.loudness = Phons{80.5};
  s.why = {"Because."};
  item.sections = {s, s};
  Cue c;
  c.section = 1;
  c.draw = {{Knob::Kind::stop, 1}, {Knob::Kind::coupler, 0}};
  c.put_in = {{Knob::Kind::stop, 0}};
  c.boxes = {{0, 0}};
  c.mover = Mover::right_hand;
  c.window = ChangeWindow{s.from, s.from, Seconds{1.5}, Seconds{2.25}};
  c.why = "It changes.";
  c.fixed = true;
  c.gradual = true;
  item.sections[1].drawn = after(f.plan.initial, c);
  f.plan.items = {item};
  f.plan.cues = {c};
  return f;
}

TEST(PlanFile, ComesBackAsItWasWritten) {
  const auto folder = read_organ_folder("demo/village");
  ASSERT_TRUE(folder);
  const PlanFile f = sample(folder->organ);
  const std::string text = write_plan(folder->organ, f);
  const auto back = read_plan(text, "plan.json", folder->organ);
  ASSERT_TRUE(back) << back.error().message;
  EXPECT_EQ(write_plan(folder->organ, *back), text);
  EXPECT_TRUE(back->plan.cues[0].gradual);
  EXPECT_EQ(back->plan.state(0, 1), f.plan.items[0].sections[1].drawn);
  EXPECT_EQ(back->plan.items[0].sections[0].from, f.plan.items[0].sections[0].from);
}

TEST(PlanFile, RefusesWhatItCannotBe) {
  const auto folder = read_organ_folder("demo/village");
  ASSERT_TRUE(folder);
  const std::string text = write_plan(folder->organ, sample(folder->organ));
  std::string newer = text;
  newer.replace(newer.find("\"version\": 1"), 12, "\"version\": 9");
  EXPECT_THAT(read_plan(newer, "p", folder->organ).error().message, testing::HasSubstr("version 9"));
  std::string other = text;
  const std::string id = "\"" + folder->organ.stops[1].id + "\"";
  other.replace(other.find(id), id.size(), "\"tuba\"");
  EXPECT_THAT(read_plan(other, "p", folder->organ).error().message, testing::HasSubstr("'tuba'"));
  for (const char* bad : {"", "[]", "{", "{\"version\":\"1\"}", "null", "{\"version\":1}"}) {
    EXPECT_FALSE(read_plan(bad, "p", folder->organ)) << bad;
  }
}

}  // namespace
}  // namespace calcant
