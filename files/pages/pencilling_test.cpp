#include "files/pages/pencilling.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <iterator>

#include "files/organfile/organfile.hpp"
#include "files/pages/cue_words.hpp"

namespace calcant {
namespace {

using testing::HasSubstr;

Organ village() {
  std::ifstream in("demo/village/organ.toml");
  const std::string text{std::istreambuf_iterator<char>(in), {}};
  return read_organ(text, "organ.toml").value().organ;
}

// Eight bars of four, two systems a page from the third bar on.
Score eight_bars() {
  Score s;
  for (int b = 0; b < 8; ++b) {
    Bar bar;
    bar.label = std::to_string(b + 1);
    bar.length = Rational{4};
    bar.start = Rational{4 * b};
    bar.new_system = b == 2 || b == 6;
    bar.new_page = b == 4;
    s.bars.push_back(bar);
    s.turns.push_back({b, 1, bar.start});
  }
  return s;
}

Moment at(int bar_index, Rational beat) {
  Moment m;
  m.bar = std::to_string(bar_index + 1);
  m.bar_index = bar_index;
  m.at = beat;
  return m;
}

Plan one_change(Mover mover) {
  Plan plan;
  Item item;
  item.kind = ItemKind::piece;
  item.title = "A piece";
  Section first;
  set_drawn(first.drawn, {Knob::Kind::stop, 0}, true);
  Section second = first;
  second.label = "Bar 7, beat 1";
  second.from = at(6, Rational{});
  item.sections = {first, second};
  plan.initial = first.drawn;
  plan.items = {item};
  Cue cue;
  cue.section = 1;
  cue.moment = at(5, Rational{2});
  cue.draw = {{Knob::Kind::stop, 1}};
  cue.boxes = {{0, 1.0F}};
  cue.mover = mover;

  plan.cues = {cue};
  return plan;
}

TEST(Pencilling, APieceIsAddressedByPageSystemBarAndBeat) {
  const Organ o = village();
  const Score s = eight_bars();
  const auto lists = pencilling(o, one_change(Mover::right_hand), {&s});
  ASSERT_EQ(lists.size(), 1U);
  ASSERT_EQ(lists[0].lines.size(), 1U);
  EXPECT_EQ(lists[0].lines[0].place, "p. 2, system 1, bar 6, beat 3");
  EXPECT_EQ(lists[0].lines[0].ready, "p. 2, system 2, bar 7, beat 1");
  EXPECT_EQ(lists[0].lines[0].hand, "R");
  EXPECT_THAT(lists[0].lines[0].what, HasSubstr("box open"));
  EXPECT_THAT(lists[0].start, testing::Contains(HasSubstr("box shut")));
  const std::string text = pencilling_text(lists);
  EXPECT_THAT(text, HasSubstr("p. 2, system 1, bar 6, beat 3  + "));
  EXPECT_THAT(text, HasSubstr("(R)  for p. 2, system 2, bar 7, beat 1"));
}

TEST(Pencilling, WithoutAScoreThePlaceIsTheUsersOwn) {
  const Organ o = village();
  Plan plan = one_change(Mover::helper);
  plan.items[0].sections[1].label = "p. 3, system 2, bar 1";
  const auto lists = pencilling(o, plan, {nullptr});
  EXPECT_EQ(lists[0].lines[0].place, "p. 3, system 2, bar 1");
  EXPECT_EQ(lists[0].lines[0].hand, "helper");
}

TEST(Pencilling, WhatIsSungIsAddressedByVerse) {
  const Organ o = village();
  Plan plan = one_change(Mover::left_hand);
  plan.items[0].kind = ItemKind::psalm;
  plan.items[0].sections[1].label = "Verse 3, second half";
  plan.items[0].title = "A <chant>";
  const auto lists = pencilling(o, plan, {nullptr});
  EXPECT_EQ(lists[0].lines[0].place, "before Verse 3, second half");
  const std::string html = pencilling_html(o, lists);
  // Two things to pencil are two on paper as well.
  EXPECT_THAT(html, testing::ContainsRegex("<span class=\"one\">\\+ [^<]*</span> <span class=\"one\">box open</span>"));
  EXPECT_THAT(html, HasSubstr("A &lt;chant&gt;"));
  EXPECT_THAT(html, HasSubstr("an invented organ"));
}

// Two boxes are told by their names, and of two Trumpets each by its division.
TEST(Pencilling, WhatThereIsTwiceIsToldApart) {
  const Organ o = read_organ_folder("demo/town").value().organ;
  ASSERT_EQ(o.boxes.size(), 2U);
  Cue cue;
  cue.draw = {{Knob::Kind::stop, *stop_by_id(o, "gt-trumpet")}, {Knob::Kind::stop, *stop_by_id(o, "pd-trumpet")}};
  cue.put_in = {{Knob::Kind::stop, *stop_by_id(o, "sw-suabe-flute")}};
  cue.boxes = {{1, 0.0F}};
  const std::string what = pencilled(o, cue);
  EXPECT_THAT(what, HasSubstr("+ Gt Trpt 8"));
  EXPECT_THAT(what, HasSubstr("+ Ped Trpt 8"));
  EXPECT_THAT(what, testing::Not(HasSubstr("Sw Suabe")));
  EXPECT_THAT(what, HasSubstr(o.boxes[1].name + " shut"));
  Registration drawn;
  drawn.box = {1.0F, 0.0F};
  EXPECT_THAT(pencilled(o, drawn).back(), HasSubstr("Swell box open, Choir box shut"));
}

// Of several composition pedals the one that is pressed is named.
TEST(Pencilling, ACompositionPedalIsNamed) {
  const Organ o = village();
  Plan plan = one_change(Mover::foot);
  const auto pedal = std::find_if(o.accessories.begin(), o.accessories.end(),
                                  [](const Accessory& a) { return a.name == "Great composition pedal 2"; });
  ASSERT_NE(pedal, o.accessories.end());
  plan.cues[0].pressed = static_cast<int>(pedal - o.accessories.begin());
  EXPECT_THAT(pencilled(o, plan.cues[0]), HasSubstr("by Great composition pedal 2"));
  EXPECT_THAT(change_words(o, plan.cues[0], {}, true).front(), HasSubstr("(Great composition pedal 2)"));
}

}  // namespace
}  // namespace calcant
