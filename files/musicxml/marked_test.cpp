// Marked copies: valid against the W3C schema where the score is, the score's content kept, our marks removable to the
// last byte.
#include "files/musicxml/marked.hpp"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "files/musicxml/musicxml.hpp"

namespace calcant::musicxml {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;
using testing::Not;

std::string bytes_of(const fs::path& p) {
  std::ifstream in(p, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

const std::string plain = R"(<?xml version="1.0" encoding="UTF-8"?>
<!-- kept -->
<score-partwise version="4.0">
  <part-list><score-part id="P1"><part-name>Organ</part-name></score-part></part-list>
  <part id="P1">
    <measure number="1">
      <attributes><divisions>2</divisions><staves>2</staves></attributes>
      <note default-x="12"><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration><staff>1</staff></note>
      <note id="mine"><pitch><step>D</step><octave>4</octave></pitch><duration>4</duration><staff>1</staff><lyric><text>la</text></lyric></note>
      <backup><duration>8</duration></backup>
      <note><pitch><step>C</step><octave>3</octave></pitch><duration>8</duration><staff>2</staff><!-- </note> --></note>
    </measure>
  </part>
</score-partwise>
)";

Mark registration(std::string text, int bar, Rational at, int stave = -1) {
  Mark m;
  m.kind = Mark::Kind::registration;
  m.text = std::move(text);
  m.bar = bar;
  m.at = at;
  m.stave = stave;
  return m;
}

Mark foot(NoteId note, WrittenNote::Foot f, WrittenNote::Part p) {
  Mark m;
  m.kind = Mark::Kind::foot;
  m.note = note;
  m.foot = f;
  m.foot_part = p;
  return m;
}

TEST(Marked, WritesWordsAtTheirPlaceAndFeetAtTheirNote) {
  const auto marked = write_marked(
      plain, {registration("add Sw. Oboe & <Reed>", 0, Rational{3}), registration("Ped. 16", 0, Rational{1, 2}, 1),
              foot(1, WrittenNote::Foot::right, WrittenNote::Part::heel),
              foot(2, WrittenNote::Foot::left, WrittenNote::Part::toe)});
  ASSERT_TRUE(marked) << sentence(marked.error());
  const auto s = read_musicxml(*marked, "marked");
  ASSERT_TRUE(s) << sentence(s.error());
  ASSERT_EQ(s->directions.size(), 2U);
  EXPECT_EQ(s->directions[0].text, "Ped. 16");
  EXPECT_EQ(s->directions[0].at, (Rational{1, 2}));
  EXPECT_EQ(s->directions[0].stave, 1);
  EXPECT_EQ(s->directions[1].text, "add Sw. Oboe & <Reed>");
  EXPECT_EQ(s->directions[1].at, Rational{3});
  // By bar, at, stave, pitch: C4, C3 at the beginning, then D4.
  EXPECT_EQ(s->notes[0].file_id, "n0");
  EXPECT_EQ(s->notes[1].file_id, "n1");
  EXPECT_EQ(s->notes[2].file_id, "mine");
  EXPECT_EQ(s->notes[1].foot, WrittenNote::Foot::right);
  EXPECT_EQ(s->notes[1].foot_part, WrittenNote::Part::heel);
  EXPECT_EQ(s->notes[2].foot, WrittenNote::Foot::left);
  EXPECT_THAT(*marked, HasSubstr("\xE2\x88\xA7</fingering></technical></notations><?calcant end?><lyric>"));
  EXPECT_THAT(*marked, HasSubstr("<!-- </note> --><?calcant begin?><notations>"));
}

TEST(Marked, MarksComeOutToTheLastByte) {
  const std::vector<Mark> marks{registration("x", 0, Rational{1}),
                                foot(0, WrittenNote::Foot::left, WrittenNote::Part::toe)};
  const auto marked = write_marked(plain, marks);
  ASSERT_TRUE(marked);
  EXPECT_NE(*marked, plain);
  EXPECT_EQ(remove_marks(*marked), plain);
  EXPECT_EQ(remove_marks(plain), plain);
  // Marking a marked copy replaces its marks.
  EXPECT_EQ(write_marked(*marked, marks), *marked);
}

TEST(Marked, OldVersionsBecomeOneThatHasIdsAndComeBack) {
  for (const std::string was : {" version=\"2.0\"", " version='3.0'", ""}) {
    std::string old = plain;
    old.replace(old.find(" version=\"4.0\""), 14, was);
    const auto marked = write_marked(old, {});
    ASSERT_TRUE(marked);
    EXPECT_TRUE(marked->find("version=\"3.1\"") != std::string::npos ||
                marked->find("version='3.1'") != std::string::npos);
    EXPECT_EQ(remove_marks(*marked), old);
  }
}

TEST(Marked, IdsOfTheScoreAreNeverTakenTwice) {
  std::string own = plain;
  own.replace(own.find("id=\"mine\""), 9, "id=\"n0\"");
  const auto marked = write_marked(own, {});
  ASSERT_TRUE(marked);
  EXPECT_THAT(*marked, HasSubstr("<note id=\"cn0\" default-x"));
  EXPECT_THAT(*marked, HasSubstr("<note id=\"n0\">"));
  EXPECT_EQ(remove_marks(*marked), own);
}

TEST(Marked, StrayInstructionsOfOursDoNotTakeMusicAway) {
  std::string stray = plain;
  stray.insert(stray.find("<note default-x"), "<?calcant begin?>");
  const auto marked = write_marked(stray, {registration("x", 0, Rational{1})});
  ASSERT_TRUE(marked);
  EXPECT_EQ(remove_marks(*marked), plain);
}

// What only looks like an instruction of ours belongs to the score: taken out by its letters it would take the music
// between two such places along.
TEST(Marked, WhatOnlyLooksLikeOursStays) {
  std::string looks = plain;
  looks.insert(looks.find("<note default-x"),
               "<direction><words x=\"<?calcant \"/></direction><!-- <?calcant begin?> -->");
  looks.insert(looks.find("<backup>"),
               "<direction><words x=\"?>\"/></direction><!-- <?calcant end?> <note id=\"n0\"> -->");
  EXPECT_EQ(remove_marks(looks), looks);
  const auto marked = write_marked(looks, {registration("x", 0, Rational{1})});
  ASSERT_TRUE(marked) << sentence(marked.error());
  EXPECT_EQ(read_musicxml(*marked, "marked")->notes.size(), 3U);
  EXPECT_EQ(remove_marks(*marked), looks);
}

TEST(Marked, AFootStandsBehindANotehead) {
  std::string headed = plain;
  headed.insert(headed.find("<staff>"), "<notehead>normal</notehead>");
  const auto marked = write_marked(headed, {foot(0, WrittenNote::Foot::left, WrittenNote::Part::toe)});
  ASSERT_TRUE(marked);
  EXPECT_THAT(*marked, HasSubstr("<notehead>normal</notehead><staff>1</staff><?calcant begin?><notations>"));
}

TEST(Marked, AVersionTakenUpByAnotherProgramIsKept) {
  std::string old = plain;
  old.replace(old.find(" version=\"4.0\""), 14, " version=\"2.0\"");
  std::string marked = write_marked(old, {}).value();
  marked.replace(marked.find("\"3.1\""), 5, "\"4.0\"");
  EXPECT_EQ(remove_marks(marked), plain);
}

TEST(Marked, TextInAnotherEncodingSaysWhatItHasBecome) {
  std::string latin = plain;
  latin.replace(latin.find("UTF-8"), 5, "ISO-8859-1");
  latin.replace(latin.find("Organ"), 5,
                "R\xE9"
                "cit");
  const std::string text = remove_marks(latin).value();
  EXPECT_THAT(text, HasSubstr("encoding=\"UTF-8\""));
  EXPECT_EQ(read_musicxml(text, "f")->staves[0].name,
            "R\xC3\xA9"
            "cit");
}

TEST(Marked, RefusesMarksOutsideTheScore) {
  EXPECT_FALSE(write_marked(plain, {registration("x", 1, Rational{})}));
  EXPECT_FALSE(write_marked(plain, {registration("x", 0, Rational{-1})}));
  EXPECT_FALSE(write_marked(plain, {registration("x", 0, Rational{}, 2)}));
  EXPECT_FALSE(write_marked(plain, {foot(3, WrittenNote::Foot::left, WrittenNote::Part::toe)}));
  EXPECT_FALSE(write_marked("<score-partwise/>", {}));
}

// Marks of every kind all over a score.
std::vector<Mark> many_marks(const Score& s) {
  std::vector<Mark> marks;
  for (int bar = 0; bar < static_cast<int>(s.bars.size()); bar += 3) {
    const Rational length = s.bars[static_cast<std::size_t>(bar)].length;
    marks.push_back(registration(fmt::format("add 4 ft ({})\nPed Bdn 16", bar), bar, length / Rational{3}));
    Mark manual = registration("Sw.", bar, Rational{}, bar % static_cast<int>(s.staves.size()));
    manual.kind = Mark::Kind::manual;
    manual.below = bar % 2 == 1;
    marks.push_back(manual);
  }
  for (const WrittenNote& n : s.notes) {
    if (n.id % 5 != 0) continue;
    const bool left = n.id % 2 == 0;
    marks.push_back(foot(n.id, left ? WrittenNote::Foot::left : WrittenNote::Foot::right,
                         n.id % 3 == 0 ? WrittenNote::Part::heel : WrittenNote::Part::toe));
    marks.back().foot_change = n.id % 10 == 0;
  }
  return marks;
}

bool valid(const fs::path& file) {
  const std::string command = fmt::format(
      "xmllint --nonet --noout --schema ../shared/musicxml-schema/musicxml.xsd '{}' "
      ">/dev/null 2>&1",
      file.string());
  return std::system(command.c_str()) == 0;
}

// Every file of the suite and every real score: content kept, bytes back, schema kept.
TEST(MarkedAll, KeepsContentBytesAndSchema) {
  if (!fs::exists("../shared/musicxml-schema/musicxml.xsd")) GTEST_SKIP() << "../shared is not here";
  if (std::system("xmllint --version >/dev/null 2>&1") != 0) GTEST_SKIP() << "xmllint is not here";
  const fs::path copy = fs::temp_directory_path() / fmt::format("calcant-marked-{}.xml", ::getpid());
  int checked = 0;
  int validated = 0;
  for (const char* folder : {"../shared/scores", "../shared/musicxml-suite/xmlFiles", "demo/village/music"}) {
    const bool suite = std::string_view(folder).find("suite") != std::string_view::npos;
    for (const auto& f : fs::directory_iterator(folder)) {
      const auto extension = f.path().extension();
      if (extension != ".musicxml" && extension != ".xml") continue;
      std::string bytes = bytes_of(f.path());
      const auto s = read_musicxml(bytes, "file");
      if (!s) continue;
      const auto marks = many_marks(*s);
      const auto marked = write_marked(bytes, marks);
      ASSERT_TRUE(marked) << f.path() << sentence(marked.error());
      const auto back = remove_marks(*marked);
      ASSERT_TRUE(back);
      // The copy is UTF-8 and says so; those that called themselves Latin-1 here have none but plain letters.
      const auto latin = bytes.find("\"ISO-8859-1\"");
      if (latin != std::string::npos) bytes.replace(latin, 12, "\"UTF-8\"");
      ASSERT_EQ(*back, bytes) << f.path();
      const auto again = read_musicxml(*marked, "marked");
      ASSERT_TRUE(again) << f.path() << sentence(again.error());
      ASSERT_EQ(again->notes.size(), s->notes.size()) << f.path();
      for (std::size_t i = 0; i < s->notes.size(); ++i) {
        ASSERT_EQ(again->notes[i].note, s->notes[i].note);
        ASSERT_EQ(again->notes[i].at, s->notes[i].at);
        ASSERT_EQ(again->notes[i].tie_to, s->notes[i].tie_to);
        ASSERT_FALSE(again->notes[i].file_id.empty());
      }
      const auto words =
          std::count_if(marks.begin(), marks.end(), [](const Mark& m) { return m.kind != Mark::Kind::foot; });
      EXPECT_EQ(again->directions.size(), s->directions.size() + static_cast<std::size_t>(words)) << f.path();
      // tests/verovio/run.sh has the copies of the real scores engraved.
      const char* keep = std::getenv("CALCANT_KEEP_MARKED");
      if (keep != nullptr && !suite) {
        std::ofstream(fs::path(keep) / f.path().filename(), std::ios::binary) << *marked;
      }
      // The schema takes half a second a file: a third of the suite and all real scores.
      if (suite && checked++ % 3 != 0) continue;
      if (!valid(f.path())) continue;
      std::ofstream(copy, std::ios::binary) << *marked;
      EXPECT_TRUE(valid(copy)) << f.path();
      ++validated;
    }
  }
  fs::remove(copy);
  EXPECT_GE(validated, 7);
}

}  // namespace
}  // namespace calcant::musicxml
