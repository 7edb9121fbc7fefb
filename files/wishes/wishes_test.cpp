#include "files/wishes/wishes.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace calcant {
namespace {

using testing::HasSubstr;

TEST(Wishes, AreReadAsTheyAreWritten) {
  const auto w = read_wishes(R"(version = 1
[[forbid]]
stop = "Swell: Mixture"
[[word]]
word = "Harvest"
level = 0.8
colour = "brighter"
[[verse]]
item = 247
verse = 2
word = "soft, no pedal"
[[fixed]]
item = "St Anne"
verse = "play-over"
draw = "Open Diapason 8, Principal 4"
hands = "Great"
[[fixed]]
item = "Voluntary in D"
bar = 17
beat = 3
draw = "Oboe 8"
[[change]]
item = "St Anne"
verse = 3
after_line = 2
draw = "Oboe 8"
box = 1
)",
                             "w.toml");
  ASSERT_TRUE(w.has_value()) << w.error().message;
  EXPECT_EQ(w->forbidden.at(0).knob, "Swell: Mixture");
  EXPECT_EQ(w->words.at(0).word, "harvest");
  EXPECT_EQ(w->words.at(0).level, 0.8);
  EXPECT_EQ(w->words.at(0).colour, 1);
  EXPECT_EQ(w->verses.at(0).place.item, "247");
  EXPECT_EQ(w->verses.at(0).place.verse, 2);
  EXPECT_EQ(w->fixed.at(0).place.verse, 0);
  EXPECT_EQ(w->fixed.at(0).left, "Great");
  EXPECT_EQ(w->fixed.at(1).place.bar, "17");
  EXPECT_EQ(w->fixed.at(1).place.beat, 3);
  EXPECT_EQ(w->changes.at(0).after_line, 2);
  EXPECT_EQ(w->changes.at(0).box, 1);
}

TEST(Wishes, SayEverythingThatIsWrongInItsPlace) {
  const auto refused = [](const char* text) {
    const auto w = read_wishes(text, "w.toml");
    EXPECT_FALSE(w.has_value());
    return w ? std::string{} : w.error().where + ": " + w.error().message;
  };
  EXPECT_THAT(refused("[[forbid]]\nstop = \"x\"\n"), HasSubstr("version = 1"));
  EXPECT_THAT(refused("version = 9\n"), HasSubstr("reads up to 1"));
  EXPECT_THAT(refused("version = 1\n[[forbit]]\n"), HasSubstr("perhaps"));
  EXPECT_THAT(refused("version = 1\n[[fixed]]\nitem = \"a\"\n"), HasSubstr("'draw' is missing"));
  EXPECT_THAT(refused("version = 1\n[[fixed]]\nitem = \"a\"\nverse = 1\nbar = 3\ndraw = \"b\"\n"),
              HasSubstr("not both"));
  EXPECT_THAT(refused("version = 1\n[[change]]\nitem = \"a\"\nverse = 1\n"), HasSubstr("w.toml:2:1: A change draws"));
  EXPECT_THAT(refused("version = 1\n[[word]]\nword = \"a b\"\nlevel = 2\n"), HasSubstr("from 0 to 1"));
  EXPECT_THAT(refused("[[[[["), HasSubstr("w.toml"));
}

}  // namespace
}  // namespace calcant
