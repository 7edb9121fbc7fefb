// Psalms as they are typed, and words for their verses and half verses.
#include "jobs/psalm_words.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "jobs/board.hpp"
#include "jobs/hymn_words.hpp"

namespace calcant {
namespace {

using testing::HasSubstr;

Hymn psalm(std::string_view typed) {
  const auto i = parse_psalm(typed);
  EXPECT_TRUE(i) << sentence(i.error());
  return sung_item(*i, {}, {}).value();
}

TEST(PsalmWords, ReadAsTheyAreTyped) {
  const auto plain = parse_psalm("23, single chant, F, 6 verses");
  ASSERT_TRUE(plain);
  EXPECT_EQ(plain->number, "23");
  EXPECT_EQ(plain->key, "F");
  EXPECT_EQ(plain->verses, 6);
  EXPECT_FALSE(plain->double_chant);
  EXPECT_TRUE(plain->gloria);
  const auto full = parse_psalm("Psalm 119b Walmisley, E flat, double, 8, no Gloria");
  ASSERT_TRUE(full);
  EXPECT_EQ(full->number, "119b");
  EXPECT_EQ(full->title, "Walmisley");
  EXPECT_TRUE(full->double_chant);
  EXPECT_FALSE(full->gloria);
  EXPECT_EQ(full->verses, 8);
}

TEST(PsalmWords, AreWhatABoardsLineIs) {
  const Hymn h = psalm("23, double chant, F, 6 verses");
  EXPECT_EQ(h.kind, ItemKind::psalm);
  EXPECT_EQ(h.tune, "Psalm 23");
  EXPECT_EQ(h.lines, 4);
  EXPECT_EQ(h.metre, "double chant");
  ASSERT_EQ(h.verses.size(), 7U);
  EXPECT_EQ(h.verses.back().label, "Gloria");
}

TEST(PsalmWords, WhatIsWrongIsTold) {
  EXPECT_THAT(parse_psalm("23, F").error().message, HasSubstr("How many verses"));
  EXPECT_THAT(parse_psalm("").error().message, HasSubstr("begins with its number"));
  EXPECT_THAT(parse_psalm("23, purple, 6").error().message, HasSubstr("'purple'"));
  EXPECT_FALSE(parse_psalm("23, 61 verses"));
  EXPECT_FALSE(parse_psalm("23, 0 verses"));
  EXPECT_FALSE(parse_psalm("23, 99999999999 verses"));
  EXPECT_FALSE(parse_psalm(std::string(500, 'x')));
}

TEST(PsalmWords, ForHalfVersesAndTheGloria) {
  Hymn h = psalm("23, F, 6 verses");
  ASSERT_TRUE(set_words(h, "3: gentle"));
  ASSERT_TRUE(set_words(h, "3b: dark"));
  ASSERT_TRUE(set_words(h, "Gloria: full"));
  ASSERT_TRUE(set_words(h, "4-5b: soft"));
  EXPECT_EQ(h.verses[2].wish, "gentle");
  EXPECT_EQ(h.verses[2].second, "dark");
  EXPECT_EQ(h.verses[3].wish, "");
  EXPECT_EQ(h.verses[4].second, "soft");
  EXPECT_EQ(h.verses[6].wish, "full");
  // Of the first half: the second keeps what was said of the whole.
  ASSERT_TRUE(set_words(h, "1: full"));
  ASSERT_TRUE(set_words(h, "1a: soft"));
  EXPECT_EQ(h.verses[0].wish, "soft");
  EXPECT_EQ(h.verses[0].second, "full");
  EXPECT_FALSE(set_words(h, "9b: soft"));
  EXPECT_THAT(set_words(h, "c: soft").error().message, HasSubstr("half a verse"));
  Hymn hymn = parse_hymn("St Anne, C, 4").value();
  EXPECT_FALSE(set_words(hymn, "2b: soft"));
  EXPECT_FALSE(set_words(hymn, "Gloria: full"));
}

}  // namespace
}  // namespace calcant
