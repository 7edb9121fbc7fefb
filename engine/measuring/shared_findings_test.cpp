// What stops have in common, after the fault table of the trade (../shared/reference/trade.md 3.4: "all stops of a note =
// action; one stop = pipe or slider").
#include "engine/measuring/shared_findings.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

namespace calcant {
namespace {

// Three stops of one chest, 36 to 91, all in order but for what is planted.
class SharedFindings : public testing::Test {
 protected:
  SharedFindings() {
    for (auto& notes : notes_)
      for (int midi = 36; midi <= 91; ++midi) {
        MeasuredNote n;
        n.key = Note{midi};
        n.place = midi - 36;
        n.state = NoteState::speaks;
        n.pitch = Pitch{};
        n.pitch->hertz = Hertz{440.0 * std::exp2((midi - 69) / 12.0)};
        n.cents = Cents{0.2 * ((midi * 7) % 5 - 2)};
        n.level = Decibels{-20.0};
        n.speech = HeardSpeech{.rise = Seconds{12.0 / n.pitch->hertz.value()},
                               .speech = Seconds{20.0 / n.pitch->hertz.value()},
                               .resolution = Seconds{3.0 / n.pitch->hertz.value()}};
        notes.push_back(n);
      }
  }
  MeasuredNote& note(int stop, int midi) { return notes_[stop][static_cast<std::size_t>(midi - 36)]; }
  void kill(int stop, int midi) {
    note(stop, midi).state = NoteState::dead;
    note(stop, midi).pitch.reset();
    note(stop, midi).speech.reset();
    note(stop, midi).cents.reset();
    note(stop, midi).level.reset();
  }
  std::vector<SharedFinding> found() {
    std::vector<StopFindings> stops;
    for (int s = 0; s < 3; ++s) {
      findings_[s] = findings(notes_[s]);
      stops.push_back({names_[s], "great", true, notes_[s], findings_[s]});
    }
    return shared_findings(stops);
  }

  const char* names_[3] = {"Open Diapason 8", "Principal 4", "Fifteenth 2"};
  std::vector<MeasuredNote> notes_[3];
  std::vector<Finding> findings_[3];
};

TEST_F(SharedFindings, NothingWrongNothingSaid) { EXPECT_TRUE(found().empty()); }

TEST_F(SharedFindings, DeadOnAllStopsIsTheGroove) {
  for (int s = 0; s < 3; ++s) kill(s, 54);
  const auto f = found();
  ASSERT_EQ(f.size(), 1U);
  EXPECT_EQ(f[0].shared, "one groove");
  EXPECT_EQ(f[0].stops.size(), 3U);
  EXPECT_THAT(f[0].sentence, testing::HasSubstr("not the pipes"));
  for (const auto& t : f[0].tests) {
    const bool inside = t.what.find("pallet") != std::string::npos;
    EXPECT_EQ(t.who, inside ? Who::builder : Who::organist) << t.what;
  }
}

TEST_F(SharedFindings, DeadOnOneStopIsThePipe) {
  kill(1, 54);
  const auto f = found();
  ASSERT_EQ(f.size(), 1U);
  EXPECT_EQ(f[0].shared, "one stop");
  EXPECT_THAT(f[0].sentence, testing::HasSubstr("F#3 gives no sound on Principal 4 alone"));
}

TEST_F(SharedFindings, SlowNotesOfOneSideOverSeveralStops) {
  for (const int midi : {49, 55, 61, 67, 73}) {
    HeardSpeech& s = *note(midi % 4 == 1 ? 0 : 2, midi).speech;
    s.speech = 4.0 * s.speech;
  }
  const auto f = found();
  ASSERT_EQ(f.size(), 1U);
  EXPECT_EQ(f[0].shared, "C sharp side");
  EXPECT_EQ(f[0].keys.size(), 5U);
}

TEST_F(SharedFindings, OneOctaveFlat) {
  for (const int midi : {60, 61, 64, 66, 69}) note(midi % 2, midi).cents = Cents{-9.0};
  const auto f = found();
  ASSERT_EQ(f.size(), 1U);
  EXPECT_EQ(f[0].shared, "one octave");
  EXPECT_THAT(f[0].sentence, testing::HasSubstr("each is flat"));
}

// Pitch wrong to different sides on two stops at one key is no groove; nor are stops of different chests one.
TEST_F(SharedFindings, ChanceMeetingsAreNoGroove) {
  note(0, 60).cents = Cents{-9.0};
  note(1, 60).cents = Cents{9.0};
  EXPECT_TRUE(found().empty());
  note(1, 60).cents = Cents{-9.0};
  EXPECT_EQ(found().size(), 1U);
  const std::vector<StopFindings> apart{{"a", "great", true, notes_[0], findings_[0]},
                                        {"b", "swell", true, notes_[1], findings_[1]}};
  EXPECT_TRUE(shared_findings(apart).empty());
}

}  // namespace
}  // namespace calcant
