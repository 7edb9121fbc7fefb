#include "files/wishes/wishes.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "engine/organ/longest_draw.hpp"

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

// What is written is what was read: every key of every kind, with quotes and letters beyond ASCII.
TEST(Wishes, AreWrittenAsTheyWereRead) {
  const char* text = R"(version = 1

[[forbid]]
stop = "Swell: Mixture"
item = "A \"quoted\" piece"

[[word]]
word = "harvest"
level = 0.8
colour = "brighter"

[[verse]]
item = "247"
standing = 2
verse = 2
word = "soft, no pedal"

[[fixed]]
item = "St Anne"
verse = "play-over"
draw = "Open Diapason 8"
right = "Swell"
left = "Great"
pedal = false

[[change]]
item = "Prélude"
page = 2
system = 3
bar = "41"
draw = "Oboe 8"
put_in = "Dulciana 8"
box = 0.5
right = "Great"
left = "Great"
why = "the tune"

[[change]]
item = "Voluntary in D"
bar = "7"
beat = 2.5
time = 2
as_before = true

[[change]]
item = "St Anne"
verse = 3
after_line = 2
box = 1

[[foot]]
item = "Voluntary in D"
mark = "bar 12, beat 2 1/2: left toe"
)";
  const auto w = read_wishes(text, "w.toml");
  ASSERT_TRUE(w.has_value()) << w.error().message;
  ASSERT_EQ(w->changes.size(), 3U);
  EXPECT_EQ(w->verses.at(0).place.standing, 2);
  EXPECT_EQ(w->changes[0].place.page, 2);
  EXPECT_EQ(w->changes[0].place.system, 3);
  EXPECT_EQ(w->changes[0].right, "Great");
  EXPECT_EQ(w->changes[0].after_line, 0);
  EXPECT_EQ(w->changes[1].place.time, 2);
  EXPECT_TRUE(w->changes[1].as_before);
  EXPECT_EQ(w->feet.at(0).mark, "bar 12, beat 2 1/2: left toe");
  EXPECT_EQ(write_wishes(*w), text);
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
  EXPECT_THAT(refused("version = 1\n[[change]]\nitem = \"a\"\nbar = 3\n"), HasSubstr("as_before = true"));
  EXPECT_THAT(refused("version = 1\n[[change]]\nitem = \"a\"\nbar = 3\nas_before = true\nbox = 1\n"),
              HasSubstr("nothing is moved there"));
  EXPECT_THAT(refused("version = 1\n[[change]]\nitem = \"a\"\nbox = 1\n"), HasSubstr("bar = 17 of a piece"));
  EXPECT_THAT(refused("version = 1\n[[change]]\nitem = \"a\"\nbar = 3\nafter_line = 2\nbox = 1\n"),
              HasSubstr("belongs to a verse"));
  EXPECT_THAT(refused("version = 1\n[[change]]\nitem = \"a\"\npage = 0\nbar = 3\nbox = 1\n"),
              HasSubstr("'page' is a whole number"));
  EXPECT_THAT(refused("version = 1\n[[foot]]\nitem = \"a\"\n"), HasSubstr("'mark' is missing"));
  EXPECT_THAT(refused("version = 1\n[[verse]]\nitem = \"a\"\nstanding = 0\nverse = 1\nword = \"soft\"\n"),
              HasSubstr("'standing' is a whole number"));
  const std::string long_name(longest_draw + 1, 'x');
  EXPECT_THAT(refused(("version = 1\n[[fixed]]\nitem = \"a\"\nverse = 1\ndraw = \"" + long_name + "\"\n").c_str()),
              HasSubstr("'draw' is longer than"));
  EXPECT_THAT(refused("[[[[["), HasSubstr("w.toml"));
}

}  // namespace
}  // namespace calcant
