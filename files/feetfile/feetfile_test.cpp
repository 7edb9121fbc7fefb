#include "files/feetfile/feetfile.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace calcant {
namespace {

using testing::HasSubstr;

TEST(FeetFile, MarksAreReadWithTheirPlaces) {
  const auto r =
      read_feet_file("version = 1\nmarks = [\n  \"bar 12, beat 2: left toe\",\n  \"n57: R^\"\n]\n", "feet.toml");
  ASSERT_TRUE(r) << sentence(r.error());
  ASSERT_EQ(r->size(), 2U);
  EXPECT_EQ((*r)[0].text, "bar 12, beat 2: left toe");
  EXPECT_EQ((*r)[1].where, "feet.toml:4:3");
}

TEST(FeetFile, EveryFaultIsToldWithItsPlace) {
  const auto r = read_feet_file("version = 2\nmark = []\nmarks = [3, \"n1: L\"]\n", "feet.toml");
  ASSERT_FALSE(r);
  const std::string all = sentence(r.error());
  EXPECT_THAT(all, HasSubstr("feet.toml:1:11"));
  EXPECT_THAT(all, HasSubstr("version 2"));
  EXPECT_THAT(all, HasSubstr("marks"));
  EXPECT_THAT(all, HasSubstr("feet.toml:3:10"));
  EXPECT_FALSE(read_feet_file("marks = []", "feet.toml"));
  EXPECT_FALSE(read_feet_file("version = 1\nmarks = \"n1: L\"", "feet.toml"));
  EXPECT_FALSE(read_feet_file("version = 1\n[[#", "feet.toml"));
  EXPECT_FALSE(read_feet_file("version = 1\n\u00e9 = 3\n", "feet.toml"));  // a letter beyond ASCII where a key begins
  EXPECT_FALSE(read_feet_file("version = 1\nmarks = " + std::string(5000, '['), "feet.toml"));
  EXPECT_FALSE(read_feet_file(std::string(feet_file_limit + 1, ' '), "feet.toml"));
}

}  // namespace
}  // namespace calcant
