// Wishes and what was said after a service, from their files and the book to the plan. Organ, hymn and wishes are invented.
#include "jobs/wishes.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "jobs/after.hpp"
#include "jobs/faults.hpp"
#include "jobs/prepare.hpp"

namespace calcant {
namespace {

namespace fs = std::filesystem;

class WishedFor : public testing::Test {
 protected:
  void SetUp() override {
    const auto* info = testing::UnitTest::GetInstance()->current_test_info();
    folder_ = fs::temp_directory_path() / (std::string{"calcant_wishes_"} + info->name());
    fs::remove_all(folder_);
    fs::create_directories(folder_ / "wishes");
    fs::copy_file("demo/chapel/organ.toml", folder_ / "organ.toml");
  }
  void TearDown() override { fs::remove_all(folder_); }
  void wish(const std::string& text) { std::ofstream(folder_ / "wishes" / "all.toml") << "version = 1\n" << text; }
  Result<Prepared> prepared() {
    auto context = open_organ(folder_);
    if (!context) return tl::unexpected<Error>(context.error());
    PrepareRequest r;
    r.hymn = "247 St Anne, C major, CM, 4 verses";
    r.out = folder_ / "out";
    return prepare(*context, r, {});
  }
  fs::path folder_;
};

TEST_F(WishedFor, IsKeptAndTheRestPlannedRoundIt) {
  wish(
      "[[forbid]]\nstop = \"Open Diapason\"\n"
      "[[verse]]\nitem = 247\nverse = 2\nword = \"harvest\"\n[[word]]\nword = \"harvest\"\nlevel = 1\n"
      "[[fixed]]\nitem = \"St Anne\"\nverse = 3\ndraw = \"Dulciana 8\"\npedal = false\n"
      "[[change]]\nitem = \"St Anne\"\nverse = 4\nafter_line = 2\ndraw = \"Dulciana 8\"\n");
  const auto p = prepared();
  ASSERT_TRUE(p) << p.error().message;
  const Plan& plan = p->file.plan;
  for (const std::string& r : plan.remarks) EXPECT_FALSE(r.starts_with("The plan's own check")) << r;
  const auto& sections = plan.items[0].sections;
  ASSERT_EQ(sections.size(), 6U);  // the play-over, four verses, and what follows line 2 of the last
  EXPECT_EQ(sections[2].wish, "harvest");
  EXPECT_GT(*sections[2].loudness, *sections[1].loudness);
  EXPECT_TRUE(sections[3].fixed);
  EXPECT_EQ(sections[3].drawn.stops.count(), 1U);
  EXPECT_TRUE(plan.cues.back().fixed || sections[5].drawn == sections[4].drawn);
  const auto context = open_organ(folder_);
  ASSERT_TRUE(context);
  const auto open = static_cast<std::size_t>(*stop_by_id(context->organ, "mn-open-diapason"));
  for (const Section& s : sections) EXPECT_FALSE(s.drawn.stops[open]) << s.label;
}

TEST_F(WishedFor, WhatCannotBeIsToldWithItsLine) {
  wish("\n[[fixed]]\nitem = \"St Anne\"\nverse = 9\ndraw = \"Dulciana 8\"\n");
  auto p = prepared();
  ASSERT_FALSE(p);
  EXPECT_EQ(p.error().where, "wishes/all.toml:3");
  EXPECT_THAT(p.error().message, testing::HasSubstr("no verse 9; 4 are sung"));
  wish("[[forbid]]\nstop = \"Vox Mystica\"\n");
  p = prepared();
  ASSERT_FALSE(p);
  EXPECT_EQ(p.error().where, "wishes/all.toml:2");
  wish("[[fixed]]\nitem = \"Another hymn\"\nverse = 9\ndraw = \"Dulciana 8\"\n");  // waits for its Sunday
  EXPECT_TRUE(prepared());
}

TEST_F(WishedFor, WhatWasSaidIsUsedNextTime) {
  const auto before = prepared();
  ASSERT_TRUE(before);
  const auto context = open_organ(folder_);
  ASSERT_TRUE(context);
  {
    auto book = open_book(*context);
    ASSERT_TRUE(book);
    for (const char* text : {"St Anne v1: too strong, drowned them", "247: too loud", "St Anne v1: too strong"}) {
      auto line = parse_after(text);
      ASSERT_TRUE(line) << line.error().message;
      line->date = "2026-11-22";
      ASSERT_TRUE(book->add(*line));
    }
  }
  const auto after = prepared();
  ASSERT_TRUE(after);
  EXPECT_LT(*after->file.plan.items[0].sections[1].loudness, *before->file.plan.items[0].sections[1].loudness);
  EXPECT_THAT(after->file.plan.items[0].remarks,
              testing::Contains("After 2026-11-22 you said 'too strong' of verse 1: drowned them."));
}

TEST(AfterService, IsReadFromOneLine) {
  const auto a = parse_after("hymn 2, St Anne, verse 3: too thin; the Oboe was late");
  ASSERT_TRUE(a);
  EXPECT_EQ(a->item, "hymn 2, St Anne, v3");
  EXPECT_EQ(a->verdict, "too thin");
  EXPECT_EQ(a->words, "the Oboe was late");
  EXPECT_EQ(parse_after("247: RIGHT")->verdict, "right");
  EXPECT_EQ(parse_after("247: RIGHT")->item, "247");
  EXPECT_FALSE(parse_after("247 right"));
  EXPECT_FALSE(parse_after("St Anne: thinner than thin"));
  EXPECT_FALSE(parse_after(": right"));
}

// By hand: 1.5 phon each, at most 6; "right" moves nothing; another hymn is another hymn.
TEST(AfterService, IsAddedUp) {
  const std::vector<AfterService> lines{{1, "2026-01-04", "St Anne", "too thin", ""},
                                        {2, "2026-02-01", "247", "right", ""},
                                        {3, "2026-03-01", "st anne, v2", "too strong", ""},
                                        {4, "2026-03-01", "Dundee", "too thin", ""}};
  SaidBefore s = heard_of(lines, "247", "St Anne");
  EXPECT_EQ(s.last, "2026-03-01");
  EXPECT_EQ(s.all, Phons{1.5});
  ASSERT_EQ(s.verses.size(), 1U);
  EXPECT_EQ(s.verses[0], (std::pair{2, Phons{-1.5}}));
  Hymn h;
  h.verses.resize(2);
  lay_on(s, h);
  EXPECT_EQ(h.verses[0].correction, Phons{1.5});
  EXPECT_EQ(h.verses[1].correction, Phons{0});
  const std::vector<AfterService> often(9, {1, "2026-01-04", "St Anne", "too thin", ""});
  EXPECT_EQ(heard_of(often, "", "St Anne").all, Phons{6});
}

}  // namespace
}  // namespace calcant
