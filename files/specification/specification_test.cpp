#include "files/specification/specification.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <iterator>

#include "engine/quantity/random.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

std::string text_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

// Every stop as "division: name length", as it stands in the organ made from the text.
std::vector<std::string> stops(const Organ& o) {
  std::vector<std::string> out;
  for (const Stop& s : o.stops)
    out.push_back(o.divisions[static_cast<std::size_t>(s.division)].name + ": " + full_name(s));
  return out;
}
std::vector<std::string> couplers(const Organ& o) {
  std::vector<std::string> out;
  for (const Coupler& c : o.couplers) out.push_back(c.name);
  return out;
}
const Stop& stop(const Organ& o, const std::string& id) {
  const auto i = stop_by_id(o, id);
  if (!i) throw std::runtime_error("no stop " + id);
  return o.stops[static_cast<std::size_t>(*i)];
}

Organ made(const std::string& text, const SixAnswers& answers = {}) {
  const auto draft = read_specification(text);
  if (!draft) throw std::runtime_error(draft.error().message);
  const auto read = read_organ(write_organ_toml(*draft, answers), "organ.toml");
  if (!read) throw std::runtime_error(to_string(read.error()));
  EXPECT_TRUE(breaches(read->organ).empty());
  return read->organ;
}
Draft draft_of(const std::string& file) {
  return read_specification(text_of("files/specification/examples/" + file)).value();
}
Organ example(const std::string& file) { return made(text_of("files/specification/examples/" + file)); }

TEST(Specification, ProgrammeWithLeadersAndNumbers) {
  const Organ o = example("village.txt");
  EXPECT_THAT(stops(o),
              ElementsAre("Great: Open Diapason 8", "Great: Stopped Diapason 8", "Great: Dulciana 8",
                          "Great: Principal 4", "Great: Twelfth 2 2/3", "Great: Fifteenth 2", "Great: Mixture III",
                          "Swell: Lieblich Bourdon 16", "Swell: Open Diapason 8", "Swell: Viol di Gamba 8",
                          "Swell: Voix Céleste 8", "Swell: Gemshorn 4", "Swell: Cornopean 8", "Swell: Oboe 8",
                          "Pedal: Open Diapason 16", "Pedal: Bourdon 16", "Pedal: Bass Flute 8"));
  EXPECT_THAT(couplers(o),
              ElementsAre("Swell to Great", "Swell to Pedal", "Great to Pedal", "Swell Octave", "Swell Sub-Octave"));
  const Stop& dulciana = stop(o, "gt-dulciana");
  EXPECT_EQ(dulciana.low_own(), Note{48});
  EXPECT_EQ(dulciana.low(), Note{36});
  EXPECT_TRUE(stop(o, "sw-voix-celeste").celeste);
  EXPECT_EQ(stop(o, "sw-voix-celeste").low(), Note{48});
  EXPECT_EQ(stop(o, "pd-bass-flute").parts[0].step, 12);
  EXPECT_EQ(stop(o, "pd-bass-flute").parts[0].rank, stop(o, "pd-bourdon").parts[0].rank);
  EXPECT_EQ(o.keyboards[0].keys, NoteSet::range(36, 91));
  EXPECT_EQ(o.keyboards[2].keys, NoteSet::range(36, 65));
  EXPECT_EQ(o.boxes.at(0).pedal, SwellPedal::lever);
  EXPECT_EQ(o.accessories.size(), 3U + 1U);
  const Draft d = draft_of("village.txt");
  EXPECT_THAT(d.title, HasSubstr("St Petroc"));
}

TEST(Specification, TwoColumns) {
  const Organ o = example("two_columns.txt");
  EXPECT_THAT(stops(o), ElementsAre("Great: Open Diapason I 8", "Great: Open Diapason II 8", "Great: Clarabella 8",
                                    "Great: Principal 4", "Great: Harmonic Flute 4", "Great: Twelfth 2 2/3",
                                    "Great: Fifteenth 2", "Great: Trumpet 8", "Swell: Violin Diapason 8",
                                    "Swell: Lieblich Gedackt 8", "Swell: Salicional 8", "Swell: Voix Celestes 8",
                                    "Swell: Principal 4", "Swell: Fifteenth 2", "Swell: Mixture II", "Swell: Horn 8",
                                    "Swell: Oboe 8", "Pedal: Open Wood 16", "Pedal: Bourdon 16", "Pedal: Octave 8"));
  EXPECT_THAT(couplers(o), ElementsAre("Swell to Great", "Swell to Pedal", "Great to Pedal", "Swell Octave",
                                       "Swell Sub-Octave", "Swell Unison Off"));
}

TEST(Specification, TabsLengthsInFrontAndLinesOfAnotherMachine) {
  const Organ o = example("chapel_tabs.txt");
  EXPECT_THAT(stops(o),
              ElementsAre("Manual: Open Diapason 8", "Manual: Stopped Diapason 8", "Manual: Dulciana 8",
                          "Manual: Principal 4", "Manual: Flute 4", "Manual: Fifteenth 2", "Pedal: Bourdon 16"));
  EXPECT_THAT(couplers(o), ElementsAre("Manual to Pedal"));
  EXPECT_EQ(stop(o, "mn-dulciana").low(), Note{48});
  EXPECT_THAT(draft_of("chapel_tabs.txt").unread, ElementsAre(UnreadLine{16, "Built 1887; restored by subscription."}));
}

TEST(Specification, DivisionsInOneLine) {
  const Organ o = example("one_line_a_division.txt");
  EXPECT_EQ(o.keyboards.size(), 4U);
  EXPECT_EQ(o.keyboards[0].keys.size(), 58);
  EXPECT_EQ(o.stops.size(), 29U) << ::testing::PrintToString(stops(o));
  EXPECT_EQ(stop(o, "gt-sesquialtera").parts.size(), 2U);
  EXPECT_EQ(stop(o, "sw-mixture").mixture_ranks, 3);
  EXPECT_EQ(o.boxes.at(0).pedal, SwellPedal::balanced);
  EXPECT_EQ(o.couplers.size(), 8U);
  EXPECT_FALSE(stop_by_id(o, "ch-clarinet"));
}

TEST(Specification, MessyScan) {
  const Organ o = example("messy.txt");
  EXPECT_THAT(stops(o),
              ElementsAre("Great: Large Open Diapason 8", "Great: Small Open Diapason 8", "Great: Hohl Flöte 8",
                          "Great: Gamba 8", "Great: Principal 4", "Great: Twelfth 2 2/3", "Great: Fifteenth 2",
                          "Great: Posaune 8", "Swell: Bourdon 16", "Swell: Open Diapason 8", "Swell: Stopd Diapason 8",
                          "Swell: Keraulophon 8", "Swell: Harmonic Flute 4", "Swell: Piccolo 2",
                          "Swell: Full Mixture III", "Swell: Contra Fagotto 16", "Swell: Hautboy 8",
                          "Pedal: Grand Open Diapason 16", "Pedal: Bourdon 16", "Pedal: Violoncello 8"));
  EXPECT_EQ(stop(o, "gt-gamba").low(), Note{48}) << "44 pipes of 56: from tenor C";
  EXPECT_EQ(o.couplers.size(), 5U) << ::testing::PrintToString(couplers(o));
}

TEST(Specification, AnswersAreTaken) {
  SixAnswers answers;
  answers.manual_notes = 58;
  answers.pedal_notes = 32;
  answers.from_tenor_c = {{"Great: Open Diapason", "oboe 8"}};
  answers.couplers_carry = false;
  answers.octaves_extended = true;
  answers.swell_pedal = SwellPedal::balanced;
  answers.pitch = Hertz{435};
  answers.room = CubicMetres{2000};
  const Organ o = made(
      "GREAT\nOpen Diapason 8\nSWELL\nOboe 8\nVoix Celeste 8\nPEDAL\nBourdon 16\nCOUPLERS\nSwell to Great\nSwell "
      "Octave\n",
      answers);
  EXPECT_EQ(o.keyboards[0].keys.size(), 58);
  EXPECT_EQ(o.keyboards[2].keys.size(), 32);
  EXPECT_EQ(stop(o, "gt-open-diapason").low(), Note{48});
  EXPECT_EQ(stop(o, "sw-oboe").low(), Note{48});
  EXPECT_EQ(stop(o, "sw-voix-celeste").low(), Note{36});
  EXPECT_EQ(o.divisions[1].high.midi, 36 + 57 + 12);
  EXPECT_TRUE(o.couplers[0].carries.empty());
  EXPECT_EQ(o.boxes[0].pedal, SwellPedal::balanced);
  EXPECT_EQ(o.pitch.a.value, Hertz{435});
  EXPECT_EQ(o.pitch.a.source, Source::given);
  EXPECT_EQ(o.pitch.at.source, Source::assumed);
  EXPECT_EQ(o.room.volume.source, Source::given);
}

TEST(Specification, WhatIsNotSaidIsMarkedAssumed) {
  const Organ o = made("GREAT\nOpen Diapason 8\n");
  EXPECT_EQ(o.pitch.a.source, Source::assumed);
  EXPECT_EQ(o.chests[0].wind.source, Source::assumed);
  EXPECT_EQ(o.ranks[0].half_tones.source, Source::assumed);
  EXPECT_EQ(o.ranks[0].mouth.source, Source::assumed);
  EXPECT_EQ(o.ranks[0].loudness.source, Source::assumed);
  EXPECT_EQ(o.room.volume.source, Source::assumed);
  EXPECT_TRUE(o.stops[0].from_assumption);
}

// The order of the reeds is the trade's (common practice, no source); the decibels are assumed and marked so.
TEST(Specification, ReedsInTheirOrder) {
  const Organ o = made("GREAT\nTrumpet 8\nTuba 8\nSWELL\nCornopean 8\nOboe 8\nVox Humana 8\n");
  std::vector<double> levels;
  for (const char* name : {"Vox Humana", "Oboe", "Cornopean", "Trumpet", "Tuba"}) {
    const auto rank = std::find_if(o.ranks.begin(), o.ranks.end(), [&](const Rank& r) { return r.name == name; });
    ASSERT_NE(rank, o.ranks.end()) << name;
    EXPECT_EQ(rank->loudness.source, Source::assumed);
    levels.push_back(rank->loudness.value.value());
  }
  EXPECT_EQ(levels, (std::vector<double>{-4, 0, 5, 6, 9}));
}

// Also where the one manual goes by two names.
TEST(Specification, ACouplerPrintedTwiceIsOne) {
  const Organ o = made("GREAT\nOpen Diapason 8\nPEDAL\nBourdon 16\nManual to Pedal\nManual to Pedal\nGreat to Pedal\n");
  ASSERT_EQ(o.couplers.size(), 1U);
  EXPECT_EQ(o.couplers[0].name, "Manual to Pedal");
}

TEST(Specification, NothingToReadIsAnError) {
  EXPECT_THAT(read_specification("The organ was rebuilt in 1923.\n").error().message, HasSubstr("no stop was found"));
  EXPECT_FALSE(read_specification(""));
  EXPECT_FALSE(read_specification(std::string(specification_limit + 1, 'a')));
}

TEST(Specification, PrintedAndReadAgainHasTheSameStops) {
  const auto village = read_organ_folder("demo/village");
  ASSERT_TRUE(village);
  const std::string printed = print_specification(village->organ);
  EXPECT_THAT(printed, HasSubstr("Dulciana          8  (from tenor C, bass from Clarabella)"));
  EXPECT_THAT(printed, HasSubstr("Invented"));
  const Organ again = made(printed);
  EXPECT_EQ(stops(again), stops(village->organ));
  EXPECT_EQ(couplers(again), couplers(village->organ));
}

// Whatever was read can be written, and what was written can be read.
TEST(Specification, EveryDraftBecomesAnOrganThatLoads) {
  const std::vector<std::string> pieces{"GREAT",
                                        "Swell Organ (enclosed)",
                                        "PEDAL",
                                        "CHOIR",
                                        "Solo",
                                        "Echo",
                                        "Positive",
                                        "Couplers",
                                        "Accessories",
                                        "MANUAL",
                                        "Open Diapason 8",
                                        "Mixture II",
                                        "Mixture 15.19.22 III",
                                        "Sesquialtera 2 2/3 & 1 3/5",
                                        "Cornet V",
                                        "Voix Celeste 8 (TC)",
                                        "Bass Flute 8 (ext. Bourdon)",
                                        "Bourdon 16",
                                        "Bourdon 16 (from Bourdon)",
                                        "Oboe 8 (bass from Stopped Diapason)",
                                        "Stopped Diapason 8",
                                        "Salicional 8 44 pipes",
                                        "Harmonic Flute 4 68 pipes",
                                        "Acoustic Bass 32",
                                        "Quint 10 2/3",
                                        "Swell to Great",
                                        "Swell Octave",
                                        "Great Sub Octave",
                                        "Swell Unison Off",
                                        "Octave",
                                        "Great to Pedal",
                                        "Choir to Swell",
                                        "Tremulant",
                                        "3 composition pedals to Great",
                                        "Balanced swell pedal",
                                        "\"Quoted\\ name\" 8",
                                        "Bö\xFFse 8",
                                        "CC to G, 30 notes",
                                        "Twelfth 2 2/3 (from Fifteenth)",
                                        "Fifteenth 2",
                                        "Open Diapason 8 (from tenor C, bass from Bourdon)",
                                        "\t8\tFlute\t4",
                                        "Piccolo 1/2 (from Acoustic Bass)",
                                        "Compass: manuals 61 notes, pedals 27 notes"};
  for (std::uint64_t seed = 0; seed < 300; ++seed) {
    Random random{seed};
    std::string text;
    for (int lines = 1 + random.below(seed % 10 == 0 ? 300 : 40); lines > 0; --lines) {
      text += pieces[static_cast<std::size_t>(random.below(static_cast<int>(pieces.size())))];
      text += random.below(8) == 0 ? "        " : "\n";
    }
    const auto draft = read_specification(text);
    if (!draft) continue;
    SixAnswers answers;
    if (random.below(2) == 0) answers.manual_notes = random.below(100);
    if (random.below(2) == 0) answers.pedal_notes = random.below(100);
    if (random.below(2) == 0) answers.octaves_extended = random.below(2) == 0;
    if (random.below(2) == 0) answers.couplers_carry = random.below(2) == 0;
    if (random.below(2) == 0) answers.from_tenor_c = {{"Bourdon", "Open Diapason"}};
    if (random.below(2) == 0) answers.pitch = Hertz{300.0 + random.below(400)};
    const auto read = read_organ(write_organ_toml(*draft, answers), "organ.toml");
    ASSERT_TRUE(read) << text << "\n" << to_string(read.error());
    ASSERT_TRUE(breaches(read->organ).empty()) << breaches(read->organ).front();
  }
}

}  // namespace
}  // namespace calcant
