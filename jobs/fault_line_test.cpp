#include "jobs/fault_line.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "files/organfile/organfile.hpp"
#include "jobs/faults.hpp"

namespace calcant {
namespace {

const Organ& village() {
  static const Organ organ = read_organ_folder("demo/village").value().organ;
  return organ;
}
std::string read(std::string_view line) {
  const auto f = parse_fault(village(), line);
  if (!f) return "refused: " + f.error().message;
  return fault_text(village(), *f) + (f->when.empty() ? "" : " (" + f->when + ")");
}

TEST(FaultLine, NotesAsOrganistsSayThem) {
  for (const char* line : {"Oboe F#3 dead", "oboe F sharp 3 dead", "Sw. Oboe tenor F sharp dead",
                           "Swell: Oboe 8, F♯3: dead", "Oboe dead at F#3", "Oboe key 19 dead"})
    EXPECT_EQ(read(line), "Swell: Oboe 8, F#3: dead") << line;
  EXPECT_EQ(read("Clarabella c' does not speak"), "Great: Clarabella 8, C4: dead");
  EXPECT_EQ(read("Pedal Bourdon FF sharp dead"), "Pedal: Bourdon 16, F#2: dead");
  EXPECT_EQ(read("Ped. Bdn bottom C rather slow to speak"), "Pedal: Bourdon 16, C2: slow to speak");
  EXPECT_EQ(read("Op. Diap. C4 is a bit flat"), "Great: Open Diapason 8, C4: out of tune");
}

TEST(FaultLine, WhenItHappensIsKept) {
  EXPECT_EQ(read("Oboe C4 dead in the cold"), "Swell: Oboe 8, C4: dead (in the cold)");
  EXPECT_EQ(read("Oboe out of use"), "Swell: Oboe 8: out of use");
  EXPECT_EQ(read("Oboe C4 crackles like a frying pan"), "Swell: Oboe 8, C4: crackles like a frying pan");
}

// A plan leaves out what is dead: nothing is taken for the whole stop because a word was passed over.
TEST(FaultLine, WhatIsNotUnderstoodIsRefused) {
  const std::pair<const char*, const char*> lines[] = {{"Oboe C4-E4 dead", "a line for each note"},
                                                       {"Oboe C4 and D4 dead", "a line for each note"},
                                                       {"Oboe C4, D4 dead", "a line for each note"},
                                                       {"Oboe C4 upwards dead", "a line for each note"},
                                                       {"Oboe not dead", "is no fault"},
                                                       {"Oboe C4 no longer dead", "is no fault"},
                                                       {"Oboe C4 deaf", "perhaps \"dead\""},
                                                       {"Clarabella c dead", "\"c\" before \"dead\" is not understood"},
                                                       {"Clarabella bottom octave dead", "\"bottom\" before"},
                                                       {"Oboe", "what was heard?"},
                                                       {"Oboe C4", "what was heard?"},
                                                       {"Swell C4 dead", "a note is of a stop"},
                                                       {"Oboe key 99 dead", "not understood"},
                                                       {"Diapason C4 dead", "no stop or division"}};
  for (const auto& [line, why] : lines) EXPECT_THAT(read(line), testing::HasSubstr(why)) << line;
}

}  // namespace
}  // namespace calcant
