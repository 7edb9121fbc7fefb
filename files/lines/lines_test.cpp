#include "files/lines/lines.hpp"

#include <gtest/gtest.h>

namespace calcant {
namespace {

TEST(ReadLines, TakesAHeaderOrNone) {
  const auto with = read_lines("hz,db\n1000,60\n2000,40.5\n", "t.csv");
  const auto without = read_lines("1000; 60\r\n\r\n# a remark\r\n2000\t40.5", "t.csv");
  ASSERT_TRUE(with);
  ASSERT_TRUE(without);
  EXPECT_EQ(*with, *without);
  ASSERT_EQ(with->size(), 2U);
  EXPECT_DOUBLE_EQ((*with)[1].level.value(), 40.5);
}

TEST(ReadLines, NamesTheRowThatIsWrong) {
  const auto words = read_lines("hz,db\n1000,60\nten,60\n", "t.csv");
  ASSERT_FALSE(words);
  EXPECT_EQ(words.error().where, "t.csv:3");
  EXPECT_EQ(read_lines("hz,db\nhz,db\n", "t.csv").error().where, "t.csv:2");  // one header, not two
  EXPECT_EQ(read_lines("1000\n", "t.csv").error().where, "t.csv:1");
  EXPECT_EQ(read_lines("0,60", "t.csv").error().where, "t.csv:1");
  EXPECT_EQ(read_lines("\n1000,201", "t.csv").error().where, "t.csv:2");
  EXPECT_FALSE(read_lines("1000,60,5", "t.csv"));
  EXPECT_FALSE(read_lines("nan,60\nnan,60", "t.csv"));
}

TEST(ReadLines, IsBounded) {
  std::string many;
  for (int i = 0; i < 20001; ++i) many += "100,10\n";
  const auto r = read_lines(many, "t.csv");
  ASSERT_FALSE(r);
  EXPECT_EQ(r.error().where, "t.csv:20001");
  EXPECT_FALSE(read_lines(std::string(std::size_t{5} << 20, ' '), "t.csv"));
}

TEST(ReadLines, NothingIsSilence) {
  EXPECT_TRUE(read_lines("", "t.csv")->empty());
  EXPECT_TRUE(read_lines("hz,db\n", "t.csv")->empty());
}

}  // namespace
}  // namespace calcant
