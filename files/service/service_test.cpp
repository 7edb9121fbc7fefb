#include "files/service/service.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

namespace calcant {
namespace {

using testing::HasSubstr;

TEST(Service, ReadsTheDemoSunday) {
  std::ifstream in("demo/village/sunday.toml");
  std::stringstream text;
  text << in.rdbuf();
  const auto s = read_service(text.str(), "sunday.toml");
  ASSERT_TRUE(s) << s.error().message;
  EXPECT_GE(s->items.size(), 6U);
  EXPECT_EQ(s->items[1].kind, ServiceItem::Kind::hymn);
  EXPECT_EQ(s->items[1].number, "112");
  EXPECT_EQ(s->items[1].words.size(), 5U);
}

TEST(Service, TellsEveryFaultWithItsPlace) {
  const auto s =
      read_service("version = 1\n[[item]]\nkind = \"hym\"\ntune = \"X\"\nverses = 0\nwrods = []\n", "s.toml");
  ASSERT_FALSE(s);
  EXPECT_EQ(s.error().where.substr(0, 8), "s.toml:6");  // unknown keys come first
  EXPECT_THAT(s.error().message, HasSubstr("words"));
  EXPECT_THAT(s.error().message, HasSubstr("s.toml:3:8"));
  EXPECT_THAT(s.error().message, HasSubstr("s.toml:5:10"));
}

TEST(Service, RefusesNewerFilesAndNothing) {
  EXPECT_THAT(read_service("version = 2\n[[item]]\ntune = \"X\"\n", "s").error().message, HasSubstr("version 2"));
  EXPECT_FALSE(read_service("", "s"));
  EXPECT_FALSE(read_service("version = 1\n", "s"));
  EXPECT_FALSE(read_service("version = 1\n[[item]]\n", "s"));
  EXPECT_FALSE(read_service(std::string(1000, '['), "s"));
  EXPECT_FALSE(read_service("version = 1\nitem = 3\n", "s"));
}

TEST(Service, WrittenAndReadBackIsTheSame) {
  std::ifstream in("demo/village/sunday.toml");
  std::stringstream text;
  text << in.rdbuf();
  auto s = read_service(text.str(), "sunday.toml");
  ASSERT_TRUE(s);
  s->date = "2026-11-29";
  s->singers = 25;
  ServiceItem odd;
  odd.title = "\"Say\" \\ \x01 \u00e9\n[[item]]";
  odd.words = {"", "soft \"very\"", "\t"};
  odd.tempo = 72.5;
  odd.minutes = 3;
  odd.gloria = false;
  odd.double_chant = true;
  s->items.push_back(odd);
  auto back = read_service(write_service(*s), "again.toml");
  ASSERT_TRUE(back) << back.error().message;
  EXPECT_EQ(back->name, s->name);
  EXPECT_EQ(back->date, s->date);
  EXPECT_EQ(back->singers, s->singers);
  EXPECT_EQ(back->invented, s->invented);
  ASSERT_EQ(back->items.size(), s->items.size());
  for (std::size_t i = 0; i < s->items.size(); ++i) {
    back->items[i].line = s->items[i].line = 0;
    EXPECT_EQ(back->items[i], s->items[i]) << i;
  }
}

TEST(Service, ABoardStillBeingTypedMayLackThings) {
  const std::string text = "version = 1\n[[item]]\nkind = \"hymn\"\n";
  EXPECT_FALSE(read_service(text, "s"));
  EXPECT_TRUE(read_service(text, "s", Completeness::as_typed));
  EXPECT_TRUE(read_service("version = 1\n", "s", Completeness::as_typed));
  EXPECT_FALSE(read_service("version = 1\nitem = 3\n", "s", Completeness::as_typed));
  EXPECT_FALSE(read_service("version = 1\n[[item]]\nwrods = []\n", "s", Completeness::as_typed));
}

TEST(Service, WhatIsTooLongIsCutBetweenLetters) {
  Service s;
  s.items.resize(1);
  for (int i = 0; i < 200; ++i) s.items[0].title += "\u00e9";  // 400 bytes
  const auto back = read_service(write_service(s), "s");
  ASSERT_TRUE(back) << back.error().message;
  EXPECT_LE(back->items[0].title.size(), 300U);
  EXPECT_EQ(back->items[0].title.size() % 2, 0U);
}

}  // namespace
}  // namespace calcant
