#include "files/organfile/organfile.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>

#include "engine/organ/coupler_trial.hpp"
#include "engine/organ/sounding.hpp"

namespace calcant {
namespace {

using ::testing::HasSubstr;

std::string text_of(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

const std::string head = R"(version = 1
[organ]
id = "x"
name = "X"
[[keyboard]]
id = "great"
keys = "C2-G6"
[[division]]
id = "great"
[[chest]]
id = "great"
division = "great"
[[rank]]
id = "open"
chest = "great"
family = "principal"
notes = "C2-G6"
feet = 8
)";
const std::string stop_line =
    "[[stop]]\nid = \"gt-open\"\nname = \"Open\"\ndivision = \"great\"\nfeet = 8\nrank = \"open\"\n";

std::vector<Fault> faults_of(const std::string& text) {
  const auto read = read_organ(text, "organ.toml");
  return read ? std::vector<Fault>{} : read.error();
}

TEST(OrganFile, SmallestOrganReads) {
  const auto read = read_organ(head + stop_line, "organ.toml");
  ASSERT_TRUE(read) << to_string(read.error());
  EXPECT_EQ(read->organ.stops.size(), 1U);
  EXPECT_EQ(read->organ.ranks[0].pipes, 56);
  EXPECT_EQ(read->organ.chests[0].wind.source, Source::assumed);
  EXPECT_TRUE(breaches(read->organ).empty());
  EXPECT_FALSE(read->notes.empty());
}

TEST(OrganFile, TenFaultsAreAllToldWithTheirLines) {
  const auto faults = faults_of(text_of("files/organfile/ten_faults.toml"));
  std::vector<int> lines;
  for (const Fault& f : faults) lines.push_back(f.line);
  EXPECT_THAT(lines, ::testing::ElementsAre(7, 10, 13, 14, 18, 20, 21, 23, 30, 38, 42)) << to_string(faults);
  const std::string all = to_string(faults);
  EXPECT_THAT(all, HasSubstr("write the lower note first, \"C2-G6\""));
  EXPECT_THAT(all, HasSubstr("no key \"colour\""));
  EXPECT_THAT(all, HasSubstr("perhaps \"great\""));
  EXPECT_THAT(all, HasSubstr("perhaps \"principal\""));
  EXPECT_THAT(all, HasSubstr("has 56 pipes, not 54"));
  EXPECT_THAT(all, HasSubstr("already that of the rank at line 15"));
  EXPECT_THAT(all, HasSubstr("hitches should rise"));
}

TEST(OrganFile, FaultShowsItsLineWithACaret) {
  const auto faults = faults_of(head + "famly = \"flute\"\n" + stop_line);
  ASSERT_EQ(faults.size(), 1U);
  EXPECT_EQ(faults[0].line, 19);
  EXPECT_EQ(to_string(faults[0]),
            "organ.toml:19:1: rank \"open\" has no key \"famly\"; perhaps \"family\"\n"
            "    famly = \"flute\"\n"
            "    ^\n");
}

TEST(OrganFile, CaretStandsUnderItsPlaceBehindLettersOfSeveralBytes) {
  const auto faults = faults_of(head + "name = \"Gedäckt\"\nmaterial = \"mettal\"\n" + stop_line);
  ASSERT_EQ(faults.size(), 1U) << to_string(faults);
  EXPECT_EQ(faults[0].column, 12);
  EXPECT_THAT(to_string(faults[0]), HasSubstr("\n               ^"));
}

TEST(OrganFile, CaretStaysInsideALongLineThatIsNoText) {
  const NamedText pipes{"pipes.csv", "rank,pipe,cents,from\nopen,1,1" + std::string(300, '\xBF') + ",nobody\n"};
  const auto read = read_organ(head + stop_line, "organ.toml", &pipes);
  ASSERT_FALSE(read);
  for (const Fault& f : read.error()) EXPECT_LE(f.caret, static_cast<int>(f.text.size())) << to_string(f);
}

TEST(OrganFile, NewerVersionIsRefusedWithOneSentence) {
  const auto faults = faults_of("version = 2\nfuture = true\n");
  ASSERT_EQ(faults.size(), 1U);
  EXPECT_THAT(faults[0].message, HasSubstr("newer Calcant"));
}

TEST(OrganFile, BrokenLineDoesNotHideTheRest) {
  const auto faults = faults_of(head + "half_tones = = 2\ncolour = 1\n" + stop_line + "colour = 2\n");
  ASSERT_EQ(faults.size(), 3U) << to_string(faults);
  EXPECT_EQ(faults[0].line, 19);
  EXPECT_EQ(faults[1].line, 20);
  EXPECT_EQ(faults[2].line, 27);
}

TEST(OrganFile, StrangeHeaderIsToldWithItsLine) {
  const auto faults = faults_of(head + stop_line + "[[# stops]]\nid = \"b\"\n");
  ASSERT_FALSE(faults.empty());
  EXPECT_EQ(faults[0].line, 25) << to_string(faults);
}

TEST(OrganFile, OpenListEndsInOneFault) {
  const auto faults = faults_of(head + stop_line + "knob = [1,\n[[stop]]\nid = \"b\"\n");
  EXPECT_EQ(faults.size(), 1U) << to_string(faults);
}

TEST(OrganFile, MeaningIsChecked) {
  const auto told = [](const std::string& more, const std::string& expected) {
    const auto faults = faults_of(head + stop_line + more);
    EXPECT_THAT(to_string(faults), HasSubstr(expected));
  };
  told("[[stop]]\nid = \"b\"\nname = \"B\"\ndivision = \"great\"\nfeet = 8\nrank = \"open\"\nfrom = \"C7\"\n",
       "finds no pipe");
  told(
      "[[stop]]\nid = \"b\"\nname = \"B\"\ndivision = \"great\"\nfeet = 8\nrank = \"open\"\nbass = "
      "\"open\"\n",
      "borrows a bass");
  told(
      "[[stop]]\nid = \"b\"\nname = \"B\"\ndivision = \"great\"\nfeet = \"2 3/4\"\nrank = "
      "\"open\"\nmixture_ranks = 99\n",
      "from 1 to 12");
  told("[[stop]]\nid = \"b\"\nname = \"B\"\ndivision = \"great\"\nrank = \"open\"\n", "does not say its \"feet\"");
  told(
      "[[coupler]]\nid = \"o\"\nname = \"O\"\nfrom = \"great\"\nto = \"great\"\nunison_off = true\nsemitones "
      "= 12\n",
      "unison off");
  told("[[accessory]]\nid = \"t\"\nname = \"T\"\nkind = \"tremulant\"\n", "does not say its \"division\"");
  told("[[accessory]]\nid = \"t\"\nname = \"T\"\nkind = \"composition\"\ndraws = [\"gt-opn\"]\n",
       "perhaps \"gt-open\"");
  told("[pitch]\na_hz = nan\n", "should lie from");
  told("[pitch]\nown_cents = [0, 100]\n", "twelve");
  told("[pitch]\ntemperament = \"valloti\"\n", "vallotti");
  told("[room]\nreverberation_s = [1, 2]\n", "list of 8 numbers");
  told("[rank]\nid = \"x\"\n", "organ.toml:25");
}

TEST(OrganFile, FiguresSayWhereTheyComeFrom) {
  const auto read =
      read_organ(head +
                     "half_tones = { value = -1.5, from = \"measured\", plus_minus = 0.2, date = \"2026-03-01\", "
                     "basis = \"callipers\" }\nmouth = 0.2\n" +
                     stop_line,
                 "organ.toml");
  ASSERT_TRUE(read) << to_string(read.error());
  const Rank& r = read->organ.ranks[0];
  EXPECT_EQ(r.half_tones, (Sourced<double>{-1.5, Source::measured, 0.2, "2026-03-01", "callipers", ""}));
  EXPECT_EQ(r.mouth.source, Source::given);
  EXPECT_EQ(r.cut_up.source, Source::assumed);
}

TEST(OrganFile, TableOfPipes) {
  const NamedText pipes{"pipes.csv",
                        "# by the tuner\nrank,pipe,diameter_mm,level_db,cents,from,date\n"
                        "open,1,155.5,,,measured,2026-01-02\nopen,25,,+1.5,-2,measured,2026-01-02\n"};
  const auto read = read_organ(head + stop_line, "organ.toml", &pipes);
  ASSERT_TRUE(read) << to_string(read.error());
  ASSERT_EQ(read->organ.ranks[0].scale.size(), 1U);
  const auto* figures = pipe_figures(read->organ, {0, 25});
  ASSERT_NE(figures, nullptr);
  EXPECT_EQ(figures->cents->value, Cents{-2});

  const NamedText bad{"pipes.csv", "rank,pipe,levl_db\n"};
  EXPECT_THAT(to_string(read_organ(head + stop_line, "organ.toml", &bad).error()), HasSubstr("perhaps \"level_db\""));
  const NamedText worse{"pipes.csv", "rank,pipe,cents\nopn,1,2\nopen,57,2\nopen,1,x\nopen,1,2,3\n"};
  EXPECT_EQ(read_organ(head + stop_line, "organ.toml", &worse).error().size(), 4U);
}

TEST(OrganFile, TheDay) {
  const auto day = read_day(
      "version = 1\ndate = \"2026-11-22\"\nout_of_use = [\"sw-oboe\"]\ncelsius = 9\n"
      "[[dead]]\nrank = \"gt-open\"\npipe = 25\nnote = \"silent\"\n"
      "[[figure]]\nrank = \"gt-open\"\nloudness_db = { value = 2, from = \"measured\" }\n"
      "[[figure]]\nrank = \"gt-open\"\npipe = 3\ncents = -4\n",
      "day.toml");
  ASSERT_TRUE(day) << to_string(day.error());
  EXPECT_EQ(day->dead.size(), 1U);
  EXPECT_EQ(day->rank_loudness.size(), 1U);
  EXPECT_EQ(day->pipe_cents.size(), 1U);
  EXPECT_EQ(day->temperature->value, Celsius{9});
  const auto bad = read_day("version = 1\ndeed = 3\n[[dead]]\npipe = 1\n", "day.toml");
  ASSERT_FALSE(bad);
  EXPECT_EQ(bad.error().size(), 2U) << to_string(bad.error());
}

TEST(OrganFile, TooLargeAndTooDeepAreRefused) {
  EXPECT_EQ(faults_of(std::string(organ_file_limit + 1, '\n')).size(), 1U);
  EXPECT_FALSE(faults_of("a = " + std::string(5000, '[') + std::string(5000, ']')).empty());
}

TEST(OrganFile, FolderThatIsNotThere) {
  const auto read = read_organ_folder("no/such/organ");
  ASSERT_FALSE(read);
  EXPECT_THAT(as_error(read.error()).message, HasSubstr("no such organ folder"));
}

// The reference page shows an organ file; it must be one.
TEST(OrganFile, ExamplesOfTheReferencePageRead) {
  const std::string page = text_of("docs/reference/organ-file.md");
  std::vector<std::string> blocks;
  for (std::size_t at = 0; (at = page.find("\n```", at)) != std::string::npos;) {
    const std::size_t begin = page.find('\n', at + 1) + 1;
    const std::size_t end = page.find("\n```", begin - 1);
    ASSERT_NE(end, std::string::npos);
    blocks.push_back(page.substr(begin, end + 1 - begin));
    at = end + 4;
  }
  ASSERT_EQ(blocks.size(), 3U);
  const NamedText pipes{"pipes.csv", blocks[1]};
  const auto read = read_organ(blocks[0], "organ-file.md", &pipes);
  ASSERT_TRUE(read) << to_string(read.error());
  EXPECT_EQ(read->organ.stops.size(), 5U);
  EXPECT_EQ(read->organ.pipe_figures.size(), 1U);
  const auto day = read_day(blocks[2], "organ-file.md");
  ASSERT_TRUE(day) << to_string(day.error());
  EXPECT_EQ(day->dead.size(), 1U);
}

TEST(Demo, ChapelAndTownAreAsPromised) {
  const auto chapel = read_organ_folder("demo/chapel/organ.toml");
  ASSERT_TRUE(chapel) << to_string(chapel.error());
  EXPECT_TRUE(chapel->organ.invented);
  EXPECT_EQ(chapel->organ.stops.size(), 6U);
  const auto town = read_organ_folder("demo/town");
  ASSERT_TRUE(town) << to_string(town.error());
  EXPECT_TRUE(town->organ.invented);
  EXPECT_EQ(town->organ.keyboards.size(), 4U);
  EXPECT_GE(town->organ.stops.size(), 45U);
}

TEST(Demo, VillageIsAsPromised) {
  const auto read = read_organ_folder("demo/village");
  ASSERT_TRUE(read) << to_string(read.error());
  const Organ& o = read->organ;
  EXPECT_TRUE(o.invented);
  EXPECT_TRUE(breaches(o).empty());
  EXPECT_GE(o.stops.size(), 15U);
  EXPECT_LE(o.stops.size(), 18U);
  EXPECT_EQ(o.keyboards.size(), 3U);
  const auto any = [&](auto what) { return std::any_of(o.stops.begin(), o.stops.end(), what); };
  EXPECT_TRUE(any([](const Stop& s) { return s.low_own() == Note{48} && s.low() == Note{36}; })) << "borrowed bass";
  EXPECT_TRUE(any([](const Stop& s) { return s.celeste; }));
  EXPECT_TRUE(any([](const Stop& s) { return !s.feet.empty() && !s.feet[0].is_octave(); })) << "mutation";
  EXPECT_TRUE(any([](const Stop& s) { return s.mixture_ranks >= 2; }));
  EXPECT_TRUE(any([](const Stop& s) { return s.family == Family::reed; }));
  EXPECT_TRUE(any([](const Stop& s) { return s.parts[0].step == 12; })) << "extension";
  EXPECT_EQ(o.couplers.size(), 6U);
  EXPECT_EQ(o.boxes.at(0).pedal, SwellPedal::lever);
  // The printed trial: an octave through Swell to Great, the Swell through Great to Pedal, the sub-octave.
  const auto trial = coupler_trials(o);
  ASSERT_EQ(trial.size(), 3U);
  EXPECT_EQ(trial[0].if_not_carried.size(), 1U);
  EXPECT_EQ(trial[0].if_carried.size(), 2U);
  EXPECT_EQ(trial[1].if_not_carried.size(), 0U);
  EXPECT_EQ(trial[1].if_carried.size(), 1U);
  EXPECT_EQ(o.couplers[static_cast<std::size_t>(trial[2].second)].semitones, -12);
  EXPECT_FALSE(trial[0].tried);
}

}  // namespace
}  // namespace calcant
