// Wishes and what was said after a service, from their files and the book to the plan. Organ, hymn and wishes are invented.
#include "jobs/wishes.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "jobs/after.hpp"
#include "jobs/faults.hpp"
#include "jobs/prepare.hpp"
#include "jobs/read_score.hpp"

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
              testing::Contains("After 2026-11-22 you said 'too strong' of verse 1."));
}

// Each verdict by itself: what it moves next time, and what is said of it.
TEST_F(WishedFor, EachVerdictDoesItsOwn) {
  struct Said {
    const char* line;
    int moves;  // the level of verse 1: up, not at all, down
    const char* told;
  };
  const Said all[] = {{"St Anne: too thin", 1, "you said 'too thin'."},
                      {"St Anne: right, they sang", 0, "you said 'right'."},
                      {"St Anne: too strong", -1, "you said 'too strong'."},
                      {"St Anne v2: a fault, the Flute ran", 0, "you noted a fault in verse 2:"},
                      {"Dundee: too strong", 0, nullptr}};
  const auto before = prepared();
  ASSERT_TRUE(before);
  const double level = before->file.plan.items[0].sections[1].loudness->value();
  for (const Said& said : all) {
    SCOPED_TRACE(said.line);
    {
      const auto context = open_organ(folder_);
      ASSERT_TRUE(context);
      auto book = open_book(*context);
      ASSERT_TRUE(book);
      // Thrice, so that a step of 1.5 phon each is more than what is near enough.
      for (int i = 0; i < 3; ++i) {
        auto line = parse_after(said.line);
        ASSERT_TRUE(line);
        line->date = "2026-11-22";
        ASSERT_TRUE(book->add(*line));
      }
    }
    const auto after = prepared();
    ASSERT_TRUE(after);
    const Item& item = after->file.plan.items[0];
    const double moved = item.sections[1].loudness->value() - level;
    EXPECT_EQ(moved > 0.5 ? 1 : moved < -0.5 ? -1 : 0, said.moves) << moved;
    if (said.told == nullptr) {
      EXPECT_THAT(item.remarks, testing::Not(testing::Contains(testing::HasSubstr("After 2026-11-22"))));
    } else {
      EXPECT_THAT(item.remarks, testing::Contains(testing::HasSubstr(said.told)));
    }
    for (const auto& f : fs::directory_iterator(folder_)) {
      if (f.path().filename().string().starts_with("organ.book")) fs::remove_all(f.path());
    }
  }
}

// Two wishes that cannot both be had are refused with both their lines, or the sheet says which stands.
TEST_F(WishedFor, WhatContradictsIsTold) {
  wish(
      "[[fixed]]\nitem = \"St Anne\"\nverse = 3\ndraw = \"Dulciana 8\"\n"
      "[[fixed]]\nitem = \"St Anne\"\nverse = 3\ndraw = \"Open Diapason 8\"\n");
  auto p = prepared();
  ASSERT_FALSE(p);
  EXPECT_EQ(p.error().where, "wishes/all.toml:6");
  EXPECT_THAT(p.error().message, testing::HasSubstr("fixed twice: here, and in wishes/all.toml:2"));
  wish(
      "[[verse]]\nitem = \"St Anne\"\nverse = 3\nword = \"soft\"\n"
      "[[verse]]\nitem = \"St Anne\"\nverse = 3\nword = \"full\"\n");
  p = prepared();
  ASSERT_FALSE(p);
  EXPECT_EQ(p.error().where, "wishes/all.toml:6");

  wish(
      "[[forbid]]\nstop = \"Dulciana 8\"\n[[fixed]]\nitem = \"St Anne\"\nverse = 2\ndraw = \"Dulciana 8\"\n"
      "[[verse]]\nitem = \"St Anne\"\nverse = 3\nword = \"full\"\n");
  const auto context = open_organ(folder_);
  ASSERT_TRUE(context);
  PrepareRequest r;
  r.hymn = "247 St Anne, C major, CM, 4 verses";
  r.words = {"3: soft"};
  r.out = folder_ / "out";
  p = prepare(*context, r, {});
  ASSERT_TRUE(p) << p.error().message;
  const auto& remarks = p->file.plan.items[0].remarks;
  EXPECT_THAT(remarks, testing::Contains(testing::HasSubstr(
                           "Dulciana 8 is forbidden (wishes/all.toml:2) and fixed: it is drawn at Verse 2")));
  EXPECT_THAT(remarks, testing::Contains(testing::AllOf(testing::HasSubstr("Verse 3: \u201csoft\u201d"),
                                                        testing::HasSubstr("\u201cfull\u201d of wishes/all.toml:8"))));
}

// What is fixed of the manuals leaves the pedal to the plan; `pedal = false` lets the feet rest.
TEST_F(WishedFor, AFixedDrawThatNamesNothingOfThePedalLeavesItToThePlan) {
  const std::string fixed = "[[fixed]]\nitem = \"St Anne\"\nverse = 3\ndraw = \"Open Diapason 8, Principal 4\"\n";
  for (const bool rests : {false, true}) {
    wish(fixed + (rests ? "pedal = false\n" : ""));
    const auto p = prepared();
    ASSERT_TRUE(p) << p.error().message;
    const Section& s = p->file.plan.items[0].sections[3];
    EXPECT_TRUE(s.fixed);
    EXPECT_EQ(s.keyboards.feet.has_value(), !rests);
    EXPECT_EQ(s.drawn.stops.count(), 2U);
    EXPECT_EQ(s.drawn.couplers.any(), !rests);
    for (const Cue& c : p->file.plan.cues) EXPECT_NE(c.mover, Mover::helper) << c.why;
  }
}

// A note that does not speak is told of a piece with its bars and another way, in words of the console.
TEST_F(WishedFor, ADeadNoteOfAPieceIsToldWithItsBars) {
  auto context = open_organ("demo/village");
  ASSERT_TRUE(context);
  const auto bourdon = static_cast<std::size_t>(*rank_by_id(context->organ, "pd-bourdon"));
  context->organ.dead.resize(context->organ.ranks.size());
  context->organ.dead[bourdon].insert(7);  // F#2
  context->allowed_for = {"Pedal: Bourdon 16, F#2: dead"};
  PrepareRequest r;
  r.score = "demo/village/music/voluntary-in-d.musicxml";
  const auto p = plan_score(*context, r, {});
  ASSERT_TRUE(p) << p.error().message;
  const Item& item = p->file.plan.items[0];
  EXPECT_THAT(item.notes,
              testing::Contains(testing::AllOf(testing::HasSubstr("F#2 of the"), testing::HasSubstr("bars "),
                                               testing::HasSubstr("Echo Bass 16"))));
  for (const auto* list : {&item.notes, &item.remarks})
    EXPECT_THAT(*list, testing::Each(testing::Not(testing::HasSubstr("--"))));
}

// A registration fixed at a bar and beat of a piece stands there, the copy's own marks hold from the next one on, and a stop
// forbidden in this piece only is drawn nowhere but where it was fixed.
TEST_F(WishedFor, APieceIsFixedAtABarAndPlannedRoundIt) {
  wish(
      "[[fixed]]\nitem = \"Voluntary in D\"\nbar = \"22\"\nbeat = 3\ndraw = \"Stopped Diapason 8, Principal 4\"\n"
      "[[forbid]]\nstop = \"Principal 4\"\nitem = \"Voluntary in D\"\n"
      "[[forbid]]\nstop = \"Stopped Diapason 8\"\nitem = \"Another piece\"\n");
  auto context = open_organ(folder_);
  ASSERT_TRUE(context);
  PrepareRequest r;
  r.score = "demo/village/music/voluntary-in-d.musicxml";
  r.out = folder_ / "out";
  r.preview = false;
  const auto p = prepare(*context, r, {});
  ASSERT_TRUE(p) << p.error().message;
  for (const std::string& remark : p->file.plan.remarks) EXPECT_FALSE(remark.starts_with("The plan's own check"));
  const auto principal = static_cast<std::size_t>(*stop_by_id(context->organ, "mn-principal"));
  const auto stopped = static_cast<std::size_t>(*stop_by_id(context->organ, "mn-stopped-diapason"));
  int fixed = 0;
  bool of_itself = false;
  for (const Section& s : p->file.plan.items[0].sections) {
    of_itself = of_itself || (s.drawn.stops[stopped] && !s.fixed);
    EXPECT_EQ(s.drawn.stops[principal], s.fixed) << s.label;
    if (!s.fixed) continue;
    ++fixed;
    EXPECT_EQ(s.from.bar, "22");
    EXPECT_EQ(s.from.at, Rational{2});
    EXPECT_EQ(s.drawn.stops.count(), 2U);
  }
  EXPECT_EQ(fixed, 1);
  EXPECT_TRUE(of_itself);  // what is forbidden elsewhere is not forbidden here
}

// A change at a bar, a change struck out and a foot mark; each where it does not exist is told with its line and what does.
TEST_F(WishedFor, AChangeAtABarAndAFootMarkAreObeyed) {
  auto context = open_organ(folder_);
  ASSERT_TRUE(context);
  PrepareRequest r;
  r.score = "demo/village/music/voluntary-in-d.musicxml";
  r.out = folder_ / "out";
  r.preview = false;
  r.every_foot = true;
  const std::string item = "item = \"Voluntary in D\"\n";
  wish("[[change]]\n" + item + "bar = 5\ndraw = \"Dulciana 8\"\nwhy = \"a colour\"\n[[change]]\n" + item +
       "bar = 7\nas_before = true\n[[change]]\n" + item + "bar = 7\ntime = 2\nas_before = true\n[[foot]]\n" + item +
       "mark = \"bar 4, beat 1: left toe\"\n");
  const auto p = prepare(*context, r, {});
  ASSERT_TRUE(p) << p.error().where << p.error().message;
  for (const std::string& remark : p->file.plan.remarks) EXPECT_FALSE(remark.starts_with("The plan's own check"));
  const auto& sections = p->file.plan.items[0].sections;
  int struck = 0;
  for (std::size_t s = 1; s < sections.size(); ++s) {
    if (!sections[s].fixed) continue;
    if (sections[s].from.bar == "7") {
      EXPECT_EQ(sections[s].drawn, sections[s - 1].drawn);
      ++struck;
    } else {
      EXPECT_EQ(sections[s].from.bar, "5");
      EXPECT_EQ(newly_drawn(context->organ, sections[s - 1].drawn, sections[s].drawn).size(), 1U);
      EXPECT_THAT(sections[s].why.front(), testing::HasSubstr("Dulciana 8 drawn; a colour"));
    }
  }
  EXPECT_EQ(struck, 2);
  EXPECT_TRUE(std::any_of(p->file.plan.cues.begin(), p->file.plan.cues.end(), [](const Cue& c) { return c.fixed; }));
  const auto marked = read_score(r.out / "marked.musicxml");
  ASSERT_TRUE(marked);
  int feet = 0;
  for (const FixedFoot& f : marks_in(marked->score)) {
    const WrittenNote& n = marked->score.notes[f.note];
    if (marked->score.bars[static_cast<std::size_t>(n.bar)].label != "4" || n.at != Rational{0}) continue;
    EXPECT_EQ(f.part, FootPart::toe);
    EXPECT_EQ(f.foot, Foot::left);
    ++feet;
  }
  EXPECT_EQ(feet, 1);

  const std::pair<std::string, const char*> wrong[] = {
      {"[[change]]\n" + item + "bar = 400\ndraw = \"Dulciana 8\"\n", "no bar 400; its bars are"},
      {"[[change]]\n" + item + "bar = 5\nbeat = 9\ndraw = \"Dulciana 8\"\n", "beat 9 is not in it"},
      {"[[change]]\n" + item + "bar = 30\ntime = 2\nas_before = true\n", "is played 1 time."},
      {"[[change]]\n" + item + "bar = 1\ndraw = \"Dulciana 8\"\n", "write [[fixed]]"},
      {"[[change]]\n" + item + "page = 2\nbar = 5\ndraw = \"Dulciana 8\"\n", "by its bars alone"},
      {"[[foot]]\n" + item + "mark = \"bar 99, beat 1: left toe\"\n", "The feet play nothing in a bar 99"}};
  for (const auto& [text, told] : wrong) {
    wish(text);
    const auto refused = prepare(*context, r, {});
    ASSERT_FALSE(refused) << text;
    EXPECT_THAT(refused.error().message, testing::HasSubstr(told));
    EXPECT_EQ(refused.error().where, "wishes/all.toml:2");
  }
}

// A piece from paper: a place of its own is put in where the copy has it.
TEST_F(WishedFor, AChangeInACopyOnPaperFindsItsPlace) {
  std::ofstream(folder_ / "paper.toml")
      << "version = 1\n[[item]]\nkind = \"voluntary\"\ntitle = \"March\"\n[[item.place]]\nbar = 1\nword = \"f\"\n"
         "[[item.place]]\npage = 2\nsystem = 2\nbar = \"30\"\nword = \"p\"\n"
         "[[item.place]]\npage = 3\nbar = \"60\"\nword = \"f\"\n";
  wish(
      "[[change]]\nitem = \"March\"\npage = 2\nsystem = 3\nbar = 41\ndraw = \"Dulciana 8\"\n"
      "[[change]]\nitem = \"March\"\npage = 3\nbar = 60\nas_before = true\n");
  auto context = open_organ(folder_);
  ASSERT_TRUE(context);
  PrepareRequest r;
  r.service = folder_ / "paper.toml";
  r.out = folder_ / "out";
  const auto p = prepare(*context, r, {});
  ASSERT_TRUE(p) << p.error().where << p.error().message;
  for (const std::string& remark : p->file.plan.remarks) EXPECT_FALSE(remark.starts_with("The plan's own check"));
  const auto& s = p->file.plan.items[0].sections;
  ASSERT_EQ(s.size(), 4U);
  EXPECT_EQ(s[2].label, "p. 2, system 3, bar 41");
  EXPECT_TRUE(s[2].fixed && s[3].fixed);
  EXPECT_EQ(newly_drawn(context->organ, s[1].drawn, s[2].drawn).size(), 1U);
  EXPECT_EQ(s[3].drawn, s[2].drawn);
  wish("[[change]]\nitem = \"March\"\nsystem = 3\nbar = \"x\"\ndraw = \"Dulciana 8\"\n");
  const auto refused = prepare(*context, r, {});
  ASSERT_FALSE(refused);
  EXPECT_THAT(refused.error().message, testing::HasSubstr("Is this before or after p. 2, system 2, bar 30?"));
}

// A stave is given to a keyboard by its number or its name; the plan says whose the choice was.
TEST_F(WishedFor, AStaveIsPutOnAKeyboard) {
  auto context = open_organ("demo/village");
  ASSERT_TRUE(context);
  PrepareRequest r;
  r.score = "demo/village/music/voluntary-in-d.musicxml";
  r.out = folder_ / "out";
  r.preview = false;
  r.staves = {"1=great", "2=swell"};
  // Fewer stops, so that it is quick.
  r.never = {"Twelfth 2 2/3", "Fifteenth 2", "Mixture",     "Lieblich Bourdon 16",
             "Salicional 8",  "Gemshorn 4",  "Echo Bass 16"};
  const auto p = plan_score(*context, r, {});
  ASSERT_TRUE(p) << p.error().message;
  for (const Section& s : p->file.plan.items[0].sections) {
    EXPECT_EQ(s.keyboards.right, keyboard_by_id(context->organ, "great"));
    EXPECT_EQ(s.keyboards.left, keyboard_by_id(context->organ, "swell"));
  }
  ASSERT_GE(p->file.staves.size(), 2U);
  EXPECT_EQ(p->file.staves[0].keyboard, "great");
  EXPECT_THAT(p->file.staves[0].reason, testing::HasSubstr("the keyboard is yours"));
  r.staves = {"Cornett=great"};
  const auto unknown = plan_score(*context, r, {});
  ASSERT_FALSE(unknown);
  EXPECT_THAT(unknown.error().message, testing::HasSubstr("no stave of this score is called 'Cornett'"));
  r.score = "demo/village/music/dundee.musicxml";
  r.staves = {"1=swell"};
  const auto hymn = plan_score(*context, r, {});
  ASSERT_FALSE(hymn);
  EXPECT_EQ(hymn.error().where, "--stave");
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
