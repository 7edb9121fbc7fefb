#include "jobs/by_hand.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "files/words/words.hpp"
#include "jobs/fit.hpp"
#include "jobs/prepare.hpp"
#include "jobs/text_file.hpp"

namespace calcant {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;

// A copy of the demo organ to change things in.
class ByHandTest : public testing::Test {
 protected:
  void SetUp() override {
    std::string place = (fs::temp_directory_path() / "calcant-by-hand-XXXXXX").string();
    ASSERT_NE(::mkdtemp(place.data()), nullptr);
    folder_ = place;
    fs::copy("demo/village", folder_, fs::copy_options::recursive);
  }
  void TearDown() override { fs::remove_all(folder_); }
  [[nodiscard]] OrganContext organ() const { return std::move(*open_organ(folder_, {})); }
  void put(const fs::path& file, const std::string& text) const {
    fs::create_directories(file.parent_path());
    std::ofstream(file) << text;
  }
  [[nodiscard]] Plan planned(const fs::path& service) const {
    PrepareRequest r;
    r.service = service;
    r.preview = false;
    r.out = folder_ / "out";
    const auto made = prepare(organ(), r, {});
    EXPECT_TRUE(made) << (made ? "" : sentence(made.error()));
    return made ? made->file.plan : Plan{};
  }
  fs::path folder_;
};

WishPlace at(int verse) {
  WishPlace p;
  p.item = "58 Dundee";
  p.verse = verse;
  return p;
}
WishesFile soft(int verse) {
  WishesFile w;
  w.verses = {{at(verse), "soft"}};
  return w;
}

TEST_F(ByHandTest, EveryChangeCanBeTakenBackAlsoByAnotherProgram) {
  const ByHand day = ByHand::of_service(folder_, "2026-11-29");
  EXPECT_TRUE(day.wishes()->verses.empty());
  EXPECT_FALSE(day.take_back());
  ASSERT_TRUE(day.keep(soft(1)));
  ASSERT_TRUE(day.keep(soft(2)));
  ASSERT_TRUE(day.keep(soft(2)));  // the same again is no step
  EXPECT_EQ(day.steps(), 2);
  const ByHand again = ByHand::of_service(folder_, "2026-11-29");
  ASSERT_TRUE(again.take_back());
  EXPECT_EQ(again.wishes()->verses.at(0).place.verse, 1);
  ASSERT_TRUE(again.take_back());
  EXPECT_TRUE(again.wishes()->verses.empty());
  EXPECT_EQ(again.steps(), 0);
  EXPECT_FALSE(again.take_back());
}

TEST_F(ByHandTest, WishesAndFeetGoBackInTheOrderTheyCame) {
  const ByHand piece = ByHand::of_piece(folder_, "dundee.musicxml");
  ASSERT_TRUE(piece.keep(soft(1)));
  ASSERT_TRUE(piece.keep_feet({"n7: left toe"}));
  ASSERT_TRUE(piece.keep(soft(2)));
  ASSERT_TRUE(piece.take_back());
  EXPECT_EQ(piece.wishes()->verses.at(0).place.verse, 1);
  EXPECT_THAT(*piece.feet(), testing::ElementsAre("n7: left toe"));
  ASSERT_TRUE(piece.take_back());
  EXPECT_TRUE(piece.feet()->empty());
  EXPECT_EQ(piece.wishes()->verses.size(), 1U);
}

TEST_F(ByHandTest, WhatWasEditedSinceIsNotLost) {
  const ByHand day = ByHand::of_service(folder_, "sunday");
  ASSERT_TRUE(day.keep(soft(1)));
  const std::string edited = *read_text_file(day.wishes_file(), 10000) + "\n[[forbid]]\nstop = \"Oboe 8\"\n";
  put(day.wishes_file(), edited);
  const auto back = day.take_back();
  ASSERT_FALSE(back);
  EXPECT_THAT(sentence(back.error()), HasSubstr("edited"));
  EXPECT_EQ(*read_text_file(day.wishes_file(), 10000), edited);
}

// A change that was begun when the power went: the way back is there, the change is not. It is passed over.
TEST_F(ByHandTest, AHalfMadeChangeIsNoStep) {
  const ByHand day = ByHand::of_service(folder_, "sunday");
  ASSERT_TRUE(day.keep(soft(1)));
  const std::string now = *read_text_file(day.wishes_file(), 10000);
  put(folder_ / "wishes/before/days/sunday/000002-0123456789ab.toml", now);
  ASSERT_TRUE(day.take_back());
  EXPECT_TRUE(day.wishes()->verses.empty());
}

TEST_F(ByHandTest, ADayKeepsToItAndNoOther) {
  const std::string board = R"(version = 1
[[item]]
kind = "hymn"
number = 58
tune = "Dundee"
key = "E flat"
metre = "8.6.8.6"
verses = 3
)";
  const fs::path day = folder_ / "services/2026-11-29.toml";
  const fs::path other = folder_ / "services/2026-12-06.toml";
  put(day, board);
  put(other, board);
  const ByHand own = ByHand::of_service(folder_, "2026-11-29");
  WishesFile w = soft(3);
  w.fixed = {{at(2), "Clarabella 8, Dulciana 8", "", "", false}};
  w.forbidden = {{"Oboe 8", "", 0}};
  ASSERT_TRUE(own.keep(w));
  const Plan kept = planned(day);
  const Item& item = kept.items.at(0);
  ASSERT_EQ(item.sections.size(), 4U);  // and the play-over
  EXPECT_TRUE(item.sections[2].fixed);
  EXPECT_EQ(item.sections[2].drawn.stops.count(), 2U);
  EXPECT_FALSE(item.sections[2].keyboards.feet);
  EXPECT_EQ(item.sections[3].wish, "soft");
  EXPECT_FALSE(item.sections[3].fixed);
  const Plan free = planned(other);
  EXPECT_FALSE(free.items.at(0).sections.at(2).fixed);
  EXPECT_EQ(free.items[0].sections.at(3).wish, "");
}

// The same hymn twice on the board: a wish for one of them is not one for the other; without it for both.
TEST_F(ByHandTest, AnItemThatStandsTwiceIsChangedWhereItWasSaid) {
  const std::string hymn =
      "[[item]]\nkind = \"hymn\"\nnumber = 58\ntune = \"Dundee\"\nkey = \"E flat\"\n"
      "metre = \"8.6.8.6\"\nverses = 3\n";
  const fs::path day = folder_ / "services/2026-11-29.toml";
  put(day, "version = 1\n" + hymn + hymn);
  const ByHand own = ByHand::of_service(folder_, "2026-11-29");
  WishPlace second = at(2);
  second.standing = 2;
  FixedChange struck;
  struck.place = at(3);
  struck.place.standing = 1;
  struck.as_before = true;
  WishesFile w = soft(1);
  w.fixed = {{second, "Clarabella 8, Dulciana 8", "", "", true}};
  w.changes = {struck};
  ASSERT_TRUE(own.keep(w));
  EXPECT_EQ(own.wishes()->fixed.at(0).place.standing, 2);
  const Plan plan = planned(day);
  ASSERT_EQ(plan.items.size(), 2U);
  const auto& first = plan.items[0].sections;
  const auto& again = plan.items[1].sections;
  EXPECT_EQ(first.at(1).wish, "soft");
  EXPECT_EQ(again.at(1).wish, "soft");
  EXPECT_FALSE(first.at(2).fixed);
  EXPECT_TRUE(again.at(2).fixed);
  EXPECT_TRUE(first.at(3).fixed);
  EXPECT_EQ(first.at(3).drawn, first.at(2).drawn);
  EXPECT_FALSE(again.at(3).fixed);
}

// Four manuals' worth of names is longer than any other wish, and comes back whole.
TEST_F(ByHandTest, TheFullOrganOfATownChurchIsKeptWhole) {
  const auto town = open_organ("demo/town", {});
  ASSERT_TRUE(town);
  Registration full;
  for (std::size_t s = 0; s < town->organ.stops.size(); ++s) full.stops.set(s);
  for (std::size_t c = 0; c < town->organ.couplers.size(); ++c) full.couplers.set(c);
  full.box.fill(1);
  WishesFile w;
  w.fixed = {{at(1), registration_text(town->organ, full), "", "", true}};
  ASSERT_GT(w.fixed[0].draw.size(), 3 * longest_wish);
  const ByHand day = ByHand::of_service(folder_, "sunday");
  ASSERT_TRUE(day.keep(w));
  EXPECT_EQ(day.wishes()->fixed.at(0).draw, w.fixed[0].draw);
  const auto read = parse_registration(town->organ, day.wishes()->fixed.at(0).draw);
  ASSERT_TRUE(read) << sentence(read.error());
  EXPECT_EQ(read->stops, full.stops);
  EXPECT_EQ(read->couplers, full.couplers);
}

TEST_F(ByHandTest, AFootMarkIsKeptWhereverThePieceIsLookedAt) {
  const fs::path score = folder_ / "music/dundee.musicxml";
  const auto before = feet_of_score(organ(), {score, {}, {}, {}}, std::nullopt);
  ASSERT_TRUE(before) << sentence(before.error());
  const FootMark& first = before->pedalling.marks.at(4);
  const bool left = first.use.foot == Foot::left;
  const std::string id = "n" + std::to_string(first.note);
  const ByHand own = ByHand::of_piece(folder_, "dundee.musicxml");
  ASSERT_TRUE(own.keep_feet({id + (left ? ": right heel" : ": left heel")}));
  const auto after = feet_of_score(organ(), {score, {}, {}, {}}, std::nullopt);
  ASSERT_TRUE(after) << sentence(after.error());
  EXPECT_EQ(after->pedalling.marks.at(4).use.foot, left ? Foot::right : Foot::left);
  EXPECT_EQ(after->pedalling.marks[4].use.part, FootPart::heel);
  EXPECT_TRUE(after->pedalling.marks[4].fixed);
  // What is typed at the command overrules it.
  const auto typed = feet_of_score(organ(), {score, {}, {}, {}}, std::nullopt, {id + ": toe"});
  ASSERT_TRUE(typed) << sentence(typed.error());
  EXPECT_EQ(typed->pedalling.marks.at(4).use.part, FootPart::toe);
  // And a copy elsewhere is another score.
  fs::copy(score, folder_ / "dundee.musicxml");
  const auto copy = feet_of_score(organ(), {folder_ / "dundee.musicxml", {}, {}, {}}, std::nullopt);
  EXPECT_FALSE(copy->pedalling.marks.at(4).fixed);
}

}  // namespace
}  // namespace calcant
