#include "files/decisions/decisions.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "engine/quantity/random.hpp"

namespace calcant {
namespace {

using testing::HasSubstr;

const std::vector<Note> order{Note{48}, Note{49}, Note{50}, Note{51}, Note{48}};

Decisions read(const std::string& lines) {
  const auto f = read_decisions("decisions 1\n" + lines, "run.txt", order);
  EXPECT_TRUE(f) << sentence(f.error());
  return f ? f->decisions : Decisions{};
}
std::string refused(const std::string& lines) {
  const auto f = read_decisions("decisions 1\n" + lines, "run.txt", order);
  EXPECT_FALSE(f) << lines;
  return f ? "" : sentence(f.error());
}

TEST(DecisionsFile, EveryCorrectionThereIs) {
  const Decisions d = read(
      "# by hand\n"
      "! C3 3.10 7 speaks\r\n"
      "!C#3 dead\n"
      "  D3  9.5 12.25 wrong D#3\n"
      "! D#3 unsure\n"
      "! C3 20 24 cipher\n"
      "! 13.0 13.5 false start\n"
      "!  14 15 nothing\n"
      "   D3 16 17 repeat\n");
  ASSERT_EQ(d.size(), 8U);
  EXPECT_EQ(d[0], (Decision{.place = 0, .key = Note{48}, .from = Seconds{3.1}, .to = Seconds{7}, .fixed = true}));
  EXPECT_EQ(d[1], (Decision{.place = 1, .key = Note{49}, .state = NoteState::dead, .fixed = true}));
  EXPECT_EQ(d[2].heard, Note{51});
  EXPECT_FALSE(d[2].fixed);
  EXPECT_EQ(d[3].state, NoteState::unsure);
  EXPECT_EQ(d[4].place, 4);  // the second line of C3 is its second turn
  EXPECT_EQ(d[5].extra, Extra::false_start);
  EXPECT_EQ(d[6].extra, Extra::other);
  EXPECT_FALSE(d[6].place);
  EXPECT_EQ(d[7].key, Note{50});
  // A line added by hand takes the place of the one that was written.
  const Decisions one = read("D3 9.5 12.25 wrong D#3\n! D3 13 16 speaks\n");
  ASSERT_EQ(one.size(), 1U);
  EXPECT_EQ(one[0], (Decision{.place = 2, .key = Note{50}, .from = Seconds{13}, .to = Seconds{16}, .fixed = true}));
}

TEST(DecisionsFile, FaultsSayWhereAndWhatWouldBeRight) {
  EXPECT_THAT(refused("C3 7 3 speaks\n"), HasSubstr("run.txt:2: It ends at 3.000 s"));
  EXPECT_THAT(refused("C3 1 2 speeks\n"), HasSubstr("perhaps \"speaks\""));
  EXPECT_THAT(refused("C8 1 2 speaks\n"), HasSubstr("C8 is no key of this stop"));
  EXPECT_THAT(refused("D3 1 2 speaks\nD3 3 4 speaks\n"), HasSubstr("run.txt:3: D3 stands here once too often"));
  EXPECT_THAT(refused("C3 speaks\n"), HasSubstr("From when to when"));
  EXPECT_THAT(refused("1 2 speaks\n"), HasSubstr("Which key"));
  EXPECT_THAT(refused("! C3 1 2 dead\n"), HasSubstr("take the times away"));
  EXPECT_THAT(refused("C3 1 speaks\n"), HasSubstr("a beginning and an end"));
  EXPECT_THAT(refused("C3 1 2\n"), HasSubstr("What is it?"));
  EXPECT_THAT(refused("C3 1 2 wrong X\n"), HasSubstr("'X' is no note"));
  EXPECT_THAT(refused("!\n"), HasSubstr("After !"));
  EXPECT_THAT(refused("C3 1e9 2e9 speaks\n"), HasSubstr("no time in seconds"));
  // All faults at once, each with its line.
  const std::string both = refused("C3 7 3 speaks\nD3 1 2 speeks\n");
  EXPECT_THAT(both, HasSubstr("run.txt:2"));
  EXPECT_THAT(both, HasSubstr("run.txt:3"));
}

TEST(DecisionsFile, VersionIsSeenTo) {
  EXPECT_THAT(read_decisions("", "x", order).error().message, HasSubstr("decisions 1"));
  EXPECT_THAT(read_decisions("C3 1 2 speaks\n", "x", order).error().message, HasSubstr("decisions 1"));
  EXPECT_THAT(read_decisions("decisions 2\n", "x", order).error().message, HasSubstr("reads up to 1"));
  EXPECT_FALSE(read_decisions(std::string(decisions_file_limit + 1, '#'), "x", order));
}

// What is written comes back the same, to a thousandth of a second.
TEST(DecisionsFile, RoundTrip) {
  Random r{5};
  for (int round = 0; round < 50; ++round) {
    DecisionsFile f{"gt-principal", "run 1.wav", {}};
    double at = 0.0;
    for (std::size_t i = 0; i < order.size(); ++i) {
      Decision d;
      d.place = static_cast<int>(i);
      d.key = order[i];
      d.state = static_cast<NoteState>(r.below(5));
      d.fixed = r.below(2) == 1;
      if (d.state != NoteState::dead && d.state != NoteState::unsure) {
        d.from = Seconds{at};
        d.to = Seconds{at += 0.125 * static_cast<double>(1 + r.below(80))};
      }
      if (d.state == NoteState::wrong && r.below(2) == 1) d.heard = order[r.below(4)];
      f.decisions.push_back(d);
    }
    Decision extra;
    extra.extra = r.below(2) == 1 ? Extra::other : Extra::false_start;
    if (extra.extra == Extra::false_start) extra.key = Note{49};
    extra.from = Seconds{at};
    extra.to = Seconds{at + 0.5};
    f.decisions.push_back(extra);
    const auto back = read_decisions(write_decisions(f), "x", order);
    ASSERT_TRUE(back) << sentence(back.error()) << write_decisions(f);
    EXPECT_EQ(back->stop, f.stop);
    EXPECT_EQ(back->recording, f.recording);
    EXPECT_EQ(back->decisions, f.decisions);
  }
}

// A cipher out of its turn comes before the key's own line, or after it: neither takes the other's place.
TEST(DecisionsFile, CipherGivesUpTheTurnItHolds) {
  const auto f = read_decisions(
      "decisions 1\nC#3 5 6 cipher\n  C#3 7 8 speaks\nD3 9 10 cipher\nD3 11 12 cipher\n! D3 dead\n", "x", order);
  ASSERT_TRUE(f) << sentence(f.error());
  ASSERT_EQ(f->decisions.size(), 5u);
  EXPECT_EQ(f->decisions[0].place, std::nullopt);
  EXPECT_EQ(f->decisions[1].place, 1);
  EXPECT_EQ(f->decisions[2].place, std::nullopt);
  EXPECT_EQ(f->decisions[3].place, std::nullopt);
  EXPECT_EQ(f->decisions[4].place, 2);
  EXPECT_EQ(read_decisions(write_decisions(*f), "x", order)->decisions, f->decisions);
}

// Names are written as they are read again: one line, no blanks at the ends, also where they were cut.
TEST(DecisionsFile, NamesOfAnyKind) {
  for (const std::string& stop : {std::string{"\rx"}, std::string{"a\nb "}, std::string(199, 'a') + " b"}) {
    const std::string text = write_decisions({stop, stop, {}});
    const auto f = read_decisions(text, "x", order);
    ASSERT_TRUE(f) << sentence(f.error());
    EXPECT_EQ(write_decisions(*f), text);
  }
}

}  // namespace
}  // namespace calcant
