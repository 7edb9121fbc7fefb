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

}  // namespace
}  // namespace calcant
