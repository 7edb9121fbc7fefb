#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "jobs/boards.hpp"
#include "jobs/context.hpp"
#include "jobs/hymn_words.hpp"
#include "jobs/sha256.hpp"

namespace calcant {
namespace {

using testing::HasSubstr;

// FIPS 180-4, the examples of NIST's "SHA-256 example" sheet, and the empty message.
TEST(Sha256, MatchesTheStandardsExamples) {
  EXPECT_EQ(sha256("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(sha256("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  EXPECT_EQ(sha256(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

TEST(HymnWords, ReadAsTheyAreTyped) {
  const auto h = parse_hymn("247 St Anne, C major, 8.6.8.6, 6 verses");
  ASSERT_TRUE(h) << h.error().message;
  EXPECT_EQ(h->number, "247");
  EXPECT_EQ(h->tune, "St Anne");
  EXPECT_EQ(h->key, "C major");
  EXPECT_EQ(h->lines, 4);
  EXPECT_EQ(h->verses.size(), 6U);

  const auto bare = parse_hymn("Old Hundredth, 4, 5");
  ASSERT_TRUE(bare);
  EXPECT_EQ(bare->lines, 4);
  EXPECT_EQ(bare->verses.size(), 5U);

  const auto flat = parse_hymn("Dundee, E flat, CM, 4");
  ASSERT_TRUE(flat) << flat.error().message;
  EXPECT_EQ(flat->tonic, 3);
  EXPECT_FALSE(flat->minor);
  EXPECT_TRUE(parse_hymn("X, F# minor, 3")->minor);
  EXPECT_EQ(parse_hymn("X, Bb, 3")->tonic, 10);
  EXPECT_EQ(parse_hymn("X, B, 3")->tonic, 11);
}

TEST(HymnWords, TunesOfTheDemoAreKnownByName) {
  for (const char* typed : {"Dundee, 4 verses", "dundee, 4", "Winchester New, 2", "TALLISS CANON, 3"}) {
    auto h = parse_hymn(typed);
    ASSERT_TRUE(h) << typed;
    EXPECT_TRUE(fill_in_known(*h, "demo/village")) << typed;
    EXPECT_FALSE(h->key.empty()) << typed;
    EXPECT_EQ(h->lines, 4) << typed;
  }
  auto dundee = parse_hymn("Dundee, F, 4 verses");
  ASSERT_TRUE(dundee && fill_in_known(*dundee, "demo/village"));
  EXPECT_EQ(dundee->key, "F major");  // what is typed wins
  EXPECT_EQ(dundee->metre, "8.6.8.6");
  auto other = parse_hymn("Westminster Abbey, 4 verses");
  ASSERT_TRUE(other);
  EXPECT_FALSE(fill_in_known(*other, "demo/village"));
}

TEST(HymnWords, SayWhatIsMissing) {
  EXPECT_THAT(parse_hymn("St Anne, C major").error().message, HasSubstr("How many verses"));
  EXPECT_THAT(parse_hymn("").error().message, HasSubstr("begins with its tune"));
  EXPECT_THAT(parse_hymn("St Anne, purple, 4").error().message, HasSubstr("'purple'"));
  EXPECT_FALSE(parse_hymn("St Anne, 4000000000 verses"));
  EXPECT_FALSE(parse_hymn("St Anne, -3 verses"));
}

TEST(Dates, AreDaysOfTheCalendar) {
  EXPECT_TRUE(parse_date("2026-11-29"));
  EXPECT_FALSE(parse_date("2026-02-30"));
  EXPECT_FALSE(parse_date("29.11.2026"));
  EXPECT_FALSE(parse_date("2026-11-29x"));
}

}  // namespace
}  // namespace calcant
