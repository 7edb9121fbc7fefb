#include "engine/quantity/day_words.hpp"

#include <gtest/gtest.h>

namespace calcant {
namespace {

TEST(DayWords, AsPeopleWriteIt) {
  // 1 January 2000 was a Saturday: the day from which ISO 8601 counts the days of the week (from memory).
  EXPECT_EQ(day_in_words("2000-01-01"), "Saturday 1 January 2000");
  EXPECT_EQ(day_in_words("2026-11-29"), "Sunday 29 November 2026");
  EXPECT_EQ(day_in_words("2024-02-29"), "Thursday 29 February 2024");
  EXPECT_EQ(date_in_words("2026-11-09"), "9 November 2026");
}

TEST(DayWords, WhatIsNoDateStands) {
  for (const char* other : {"", "Advent Sunday", "2026-02-29", "2026-13-01", "2026-1-011", "20+6-11-29"}) {
    EXPECT_EQ(day_in_words(other), other);
  }
}

}  // namespace
}  // namespace calcant
