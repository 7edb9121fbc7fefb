// The acceptance runner itself: it must be able to fail, and say what was wrong where.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>

#include "tests/case_runner.hpp"

namespace calcant::acceptance {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

std::vector<Line> lines(std::initializer_list<const char*> texts) {
  std::vector<Line> all;
  for (const char* text : texts) all.push_back({1, text});
  return all;
}

TEST(Matches, LineByLine) {
  EXPECT_TRUE(matches(lines({"Great", "Open Diapason 8"}), "Great\nOpen Diapason 8\n"));
  EXPECT_TRUE(matches(lines({"Great"}), "Great  \n"));
  EXPECT_FALSE(matches(lines({"Great"}), "Great\nOpen Diapason 8\n"));
  EXPECT_FALSE(matches(lines({"Great", "Swell"}), "Great\n"));
  EXPECT_FALSE(matches(lines({"great"}), "Great\n"));
  EXPECT_TRUE(matches(lines({"Great", "", "Swell"}), "Great\n\nSwell\n"));
}

TEST(Matches, DotsStandForAnyLinesAndAnyText) {
  EXPECT_TRUE(matches(lines({"...", "Swell", "..."}), "Great\nOpen Diapason 8\nSwell\nOboe 8\n"));
  EXPECT_TRUE(matches(lines({"...", "Swell"}), "Swell\nOboe 8\nSwell"));
  EXPECT_TRUE(matches(lines({"..."}), ""));
  EXPECT_FALSE(matches(lines({"...", "Pedal", "..."}), "Great\nSwell\n"));
  EXPECT_TRUE(matches(lines({"A is ... Hz at ... C"}), "A is 440.0 Hz at 18 C\n"));
  EXPECT_TRUE(matches(lines({"a...ab"}), "a-ab-ab"));
  EXPECT_FALSE(matches(lines({"A is ... Hz"}), "A is 440 Hz at 18 C\n"));
}

Step only_step(std::string_view text) {
  const auto parsed = parse_case(text, "x.case");
  EXPECT_TRUE(parsed.has_value());
  return parsed.value().steps.at(0);
}

TEST(Faults, ExitStatus) {
  EXPECT_THAT(faults(only_step("$ x\n"), {0, "", ""}, "/o"), IsEmpty());
  EXPECT_THAT(faults(only_step("# one\n$ x\n"), {3, "", "no organ"}, "/o"),
              ElementsAre(AllOf(HasSubstr("2: exit status 3, not 0"), HasSubstr("no organ"))));
  EXPECT_THAT(faults(only_step("$ x\nexit: 3\n"), {3, "", ""}, "/o"), IsEmpty());
  EXPECT_THAT(faults(only_step("$ x\nexit: not 0\n"), {3, "", ""}, "/o"), IsEmpty());
  EXPECT_THAT(faults(only_step("$ x\nexit: not 0\n"), {0, "", ""}, "/o"), testing::SizeIs(1));
}

TEST(Faults, WhatIsPrinted) {
  const Step step = only_step("$ x\n> one\n> ...\n! a word\n");
  EXPECT_THAT(faults(step, {0, "one\ntwo\n", "a word\n"}, "/o"), IsEmpty());
  EXPECT_THAT(faults(step, {0, "two\n", ""}, "/o"),
              ElementsAre(HasSubstr("2: it printed something else:\n        two"), HasSubstr("4: ")));
}

TEST(Faults, Json) {
  const Answer answer{0, R"({"phon": 40.3, "divisions": [{"name": "Great"}, {"name": "Swell"}]})", ""};
  EXPECT_THAT(faults(only_step("$ x\njson: /phon = 40 +- 0.5\njson: /divisions/1/name = \"Swell\"\n"
                               "json: /divisions count 2\njson: /sone absent\njson: /phon exists\n"
                               "json: /divisions has \"Great\"\n"),
                     answer, "/o"),
              IsEmpty());
  EXPECT_THAT(faults(only_step("$ x\njson: /phon = 40 +- 0.2\njson: /divisions/1/name = \"Great\"\n"
                               "json: /divisions count 3\njson: /sone exists\njson: /phon absent\n"
                               "json: /divisions has \"Pedal\"\n"),
                     answer, "/o"),
              ElementsAre("2: /phon is 40.3", "3: /divisions/1/name is \"Swell\"", HasSubstr("4: "),
                          "5: there is no /sone", "6: /phon is there", HasSubstr("7: ")));
  EXPECT_THAT(faults(only_step("$ x\njson: /phon exists\n"), {0, "forty", ""}, "/o"),
              ElementsAre(HasSubstr("2: it did not print JSON")));
}

TEST(Faults, Files) {
  std::string folder = std::filesystem::temp_directory_path() / "calcant-case-test-XXXXXX";
  ASSERT_NE(mkdtemp(folder.data()), nullptr);
  const Step step = only_step(
      "$ printf 'Verse 3' > $OUT/cues.txt\nfile: $OUT/cues.txt\n"
      "file: $OUT/cues.txt has Verse 3\nfile: $OUT/cues.txt lacks Verse 4\n");
  EXPECT_THAT(faults(step, {0, "", ""}, folder), testing::SizeIs(3));
  EXPECT_THAT(faults(step, run(step.command.text, ".", folder), folder), IsEmpty());
  const Step wrong = only_step("$ x\nfile: $OUT/cues.txt has Verse 4\nfile: $OUT/cues.txt lacks Verse 3\n");
  EXPECT_THAT(faults(wrong, {0, "", ""}, folder),
              ElementsAre("2: $OUT/cues.txt does not hold \"Verse 4\"", "3: $OUT/cues.txt holds \"Verse 3\""));
  std::filesystem::remove_all(folder);
}

TEST(Run, TakesExitStatusAndBothOutputsApart) {
  std::string folder = std::filesystem::temp_directory_path() / "calcant-case-test-XXXXXX";
  ASSERT_NE(mkdtemp(folder.data()), nullptr);
  const Answer answer = run("echo out; echo err >&2; exit 7", ".", folder);
  EXPECT_EQ(answer.exit, 7);
  EXPECT_EQ(answer.out, "out\n");
  EXPECT_EQ(answer.err, "err\n");
  std::filesystem::remove_all(folder);
}

TEST(ParseCase, RefusesWhatItDoesNotKnow) {
  for (const char* text :
       {"> out\n", "$ x\nexit: none\n", "$ x\nprints: y\n", "$ x\njson: phon = 1\n", "$ x\njson: /phon is 1\n",
        "$ x\njson: /phon = forty\n", "$ x\nfile: a contains b\n", "# empty\n"}) {
    const auto parsed = parse_case(text, "x.case");
    ASSERT_FALSE(parsed.has_value()) << text;
    EXPECT_THAT(parsed.error().where, HasSubstr("x.case"));
  }
  const auto parsed = parse_case("needs: ../shared/scores\n\n$ one\n$ two\n> x\n", "x.case");
  ASSERT_TRUE(parsed.has_value());
  EXPECT_THAT(parsed->needs, ElementsAre("../shared/scores"));
  ASSERT_EQ(parsed->steps.size(), 2u);
  EXPECT_TRUE(parsed->steps[0].out.empty());
  EXPECT_EQ(parsed->steps[1].out[0].number, 5);
}

}  // namespace
}  // namespace calcant::acceptance
