// A stop of the demo's village organ, played by the generator of invented recordings (no code shared with the analysis).
#include "jobs/measure.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "engine/measuring/testing/invented.hpp"
#include "files/audio/writer.hpp"
#include "jobs/corrected_run.hpp"
#include "jobs/fault_line.hpp"
#include "jobs/faults.hpp"
#include "jobs/kept_measurings.hpp"
#include "jobs/text_file.hpp"
#include "jobs/tuners_page.hpp"

namespace calcant {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;

class MeasureJob : public testing::Test {
 protected:
  MeasureJob()
      : folder_(fs::temp_directory_path() / ("calcant-measure-" + std::to_string(getpid()) + "-" +
                                             testing::UnitTest::GetInstance()->current_test_info()->name())) {
    fs::remove_all(folder_);
    fs::create_directories(folder_);
    fs::copy_file("demo/village/organ.toml", folder_ / "organ.toml");
  }
  ~MeasureJob() override { fs::remove_all(folder_); }

  // The stop played from `low` to `high`, one key every two seconds; keys of `silent` give no sound. Every pipe stands
  // `cents` off its pitch at `celsius`.
  fs::path play(const OrganContext& organ, const std::string& stop, int low, int high, double celsius = 15.0,
                double cents = 0.0, const std::vector<int>& silent = {}) {
    constexpr int rate = 22050;
    std::vector<float> sound(static_cast<std::size_t>((3.0 + 2.0 * (high - low + 1)) * rate), 0.0F);
    const auto plan = plan_of_stop(organ, stop, Celsius{celsius});
    EXPECT_TRUE(plan);
    double at = 1.0;
    for (const PlannedKey& k : plan->keys) {
      if (k.key.midi < low || k.key.midi > high) continue;
      invented::Pipe p;
      p.hertz = k.pipes.front().value() * std::exp2(cents / 1200.0);
      p.on = at;
      p.off = at + 1.3;
      p.wander_cents = 0.2;
      if (std::ranges::find(silent, k.key.midi) == silent.end())
        invented::add(sound, rate, p, static_cast<std::uint64_t>(k.key.midi));
      at += 2.0;
    }
    invented::add_white(sound, -65.0, 9);
    const fs::path path = folder_ / (stop + ".wav");
    EXPECT_TRUE(write_audio(path, rate, 1, sound));
    return path;
  }
  Result<StopMeasured> measured(const OrganContext& organ, MeasureRequest request, double celsius = 15.0) {
    return measure_stop(organ, request, Celsius{celsius}, {});
  }

  fs::path folder_;
};

TEST_F(MeasureJob, DecisionsAreWrittenCorrectedAndHeldTo) {
  const auto organ = open_organ(folder_);
  ASSERT_TRUE(organ) << sentence(organ.error());
  MeasureRequest request;
  request.recording = play(*organ, "gt-principal", 60, 66);
  request.stop = "Great: Principal 4";
  request.decisions = folder_ / "run.txt";
  const auto first = measured(*organ, request);
  ASSERT_TRUE(first) << sentence(first.error());
  EXPECT_EQ(first->run.notes[26].state, NoteState::speaks);  // D4

  std::string text = read_text_file(*request.decisions, 1 << 20).value();
  const std::size_t line = text.find("  D4 ");
  ASSERT_NE(line, std::string::npos);
  text.replace(line, text.find('\n', line) - line, "! D4 dead");
  ASSERT_TRUE(write_text_file(*request.decisions, text));
  const auto second = measured(*organ, request);
  ASSERT_TRUE(second) << sentence(second.error());
  EXPECT_EQ(second->by_hand, 1);
  EXPECT_EQ(second->run.notes[26].state, NoteState::dead);
  EXPECT_EQ(second->run.notes[27].state, NoteState::speaks);
  EXPECT_THAT(read_text_file(*request.decisions, 1 << 20).value(), HasSubstr("! D4 "));
  EXPECT_EQ(read_text_file(request.decisions->string() + ".before", 1 << 20).value(), text);
}

// A run of the book is corrected: its notes are made again round what was decided, and taken back they are as before.
TEST_F(MeasureJob, ARunOfTheBookIsCorrectedAndTakenBack) {
  const auto organ = open_organ(folder_);
  ASSERT_TRUE(organ) << sentence(organ.error());
  MeasureRequest request;
  request.recording = play(*organ, "gt-principal", 60, 66);
  request.stop = "Great: Principal 4";
  request.keep_on = "2026-11-20";
  const auto first = measured(*organ, request);
  ASSERT_TRUE(first && first->kept) << sentence(first.error());
  const EntryId id = *first->kept;
  const auto now = [&] {
    const auto book = open_book(*organ);
    return std::pair{cut_up(*organ, *book, id).value(), book->notes(id).value()};
  };
  const auto [before, notes] = now();
  ASSERT_EQ(before.keys.size(), first->run.notes.size());
  EXPECT_EQ(before.decisions.size(), first->run.decisions.size());
  EXPECT_EQ(before.decisions[26].state, NoteState::speaks);  // D4
  EXPECT_TRUE(still_there(before.run, request.recording));

  Decision dead;
  dead.key = Note{62};
  dead.state = NoteState::dead;
  Decision talk;
  talk.extra = Extra::other;
  talk.from = before.decisions[28].from;  // E4 is said to be no note
  talk.to = before.decisions[28].to;
  const Correction wrong{id, request.recording, {dead, talk}, before.version};
  const auto corrected = correct_run(*organ, wrong, {});
  ASSERT_TRUE(corrected) << sentence(corrected.error());
  EXPECT_EQ(corrected->by_hand, 2);
  const auto [after, silent] = now();
  EXPECT_EQ(silent[26].state, "dead");
  EXPECT_FALSE(silent[26].hz);
  EXPECT_NE(silent[28].state, "speaks");
  EXPECT_EQ(silent[27].state, "speaks");
  EXPECT_EQ(by_hand(after.decisions).size(), 2U);
  EXPECT_THAT(json_text(*organ, after, true), HasSubstr("\"by_hand\": true"));

  // From a tab that has not seen it, and what cannot stand: refused, and nothing is changed.
  EXPECT_THAT(correct_run(*organ, wrong, {}).error().message, HasSubstr("elsewhere"));
  Decision foreign = dead;
  foreign.key = Note{120};
  Decision backwards = talk;
  std::swap(backwards.from, backwards.to);
  Decision timed = dead;
  timed.from = talk.from;
  Decision untimed = dead;
  untimed.state = NoteState::speaks;
  for (const Decisions& no :
       {Decisions{foreign}, Decisions{dead, dead}, Decisions{backwards}, Decisions{timed}, Decisions{untimed}})
    EXPECT_FALSE(correct_run(*organ, {id, request.recording, no, after.version}, {}));
  EXPECT_FALSE(correct_run(*organ, {id, folder_ / "none.wav", {}, after.version}, {}));
  fs::copy_file("demo/village/organ.toml", folder_ / "other.wav");
  EXPECT_THAT(correct_run(*organ, {id, folder_ / "other.wav", {}, after.version}, {}).error().message,
              HasSubstr("another recording"));
  EXPECT_EQ(now().second, silent);

  ASSERT_TRUE(correct_run(*organ, {id, request.recording, {}, after.version}, {}));
  EXPECT_EQ(now().second, notes);
  EXPECT_EQ(now().first.version, before.version);
}

// A borrowed bass belongs to the rank that lends it.
TEST_F(MeasureJob, BorrowedNotesAreCreditedToTheLender) {
  const auto organ = open_organ(folder_);
  ASSERT_TRUE(organ);
  int borrowed = 0;
  for (const Stop& stop : organ->described.stops) {
    MeasuredRun run;
    for (int midi = 36; midi <= 96; ++midi) {
      MeasuredNote n;
      n.key = Note{midi};
      run.notes.push_back(n);
    }
    const auto notes = run_notes(organ->described, stop, run);
    for (const StopPart& part : stop.parts) {
      if (!part.borrowed || pipes_at(organ->described, stop, part.from.midi).size() != 1) continue;
      ++borrowed;
      const RunNote& n = notes[static_cast<std::size_t>(part.from.midi - 36)];
      EXPECT_EQ(n.rank, organ->described.ranks[static_cast<std::size_t>(part.rank)].id);
      EXPECT_GE(n.pipe, 1);
    }
  }
  EXPECT_GT(borrowed, 0);
}

// Two days of one stop, 10 K apart: every pipe follows the air, one was knocked 6 cents sharp, one went dead. Then the page.
TEST_F(MeasureJob, TwoDaysComparedAndThePage) {
  const auto organ = open_organ(folder_);
  ASSERT_TRUE(organ);
  MeasureRequest request;
  request.stop = "Great: Principal 4";
  request.place = "nave";
  const auto keep = [&](double celsius, const char* date, const std::vector<int>& silent) {
    request.recording = play(*organ, "gt-principal", 48, 67, celsius, 2.0, silent);
    request.keep_on = date;
    const auto m = measured(*organ, request, celsius);
    EXPECT_TRUE(m) << sentence(m.error());
    return m->kept.value_or(0);
  };
  const EntryId cold = keep(8.0, "2026-01-11", {});
  const EntryId warm = keep(18.0, "2026-06-14", {60});
  const auto c = compare_runs(*organ, cold, warm);
  ASSERT_TRUE(c) << sentence(c.error());
  EXPECT_FALSE(c->comparison.whole->sure);  // each at its own temperature: nothing moved
  for (const ComparedNote& n : c->comparison.notes) EXPECT_EQ(n.changed(), n.key.midi == 60) << name(n.key);
  ASSERT_EQ(c->learnt.size(), 1U);
  // 600/(ln 2 T) at 286 K: 3.03 cents a kelvin (reference/measuring.md 0.6).
  EXPECT_NEAR(c->learnt[0].warmth.per_kelvin.value(), 3.03, 0.03);
  EXPECT_NE(json_text(*organ, *c).find("\"cents_per_kelvin\""), std::string::npos);

  const auto page = page_of_runs(*organ, {}, "");
  ASSERT_TRUE(page) << sentence(page.error());
  EXPECT_EQ(page->runs.size(), 1U);
  EXPECT_EQ(page->runs[0].run.id, warm);  // the newest
  EXPECT_THAT(page->html, HasSubstr("What stands out"));
  EXPECT_THAT(page->html, HasSubstr("C4 gave no sound"));
  EXPECT_THAT(page->html, HasSubstr("aria-label=\"Pitch of Principal 4 along the keys\""));
  EXPECT_THAT(page->html, HasSubstr("invented"));
  EXPECT_FALSE(page_of_runs(*organ, {99}, ""));
  EXPECT_FALSE(page_of_runs(*organ, {}, "2025-01-01"));
}

// A measuring of the Great's Principal as the book keeps it: F sharp 3 gave no sound, G sharp 4 stands so far out.
calcant::Run run_of(const char* date, double celsius) {
  calcant::Run run;
  run.stop = "gt-principal";
  run.date = date;
  run.temperature = Celsius{celsius};
  return run;
}
std::vector<RunNote> principal_with_one_dead(Cents out) {
  std::vector<RunNote> notes;
  for (int midi = 36; midi < 92; ++midi) {
    RunNote n;
    n.key = Note{midi};
    n.rank = "gt-principal";
    n.pipe = midi - 35;
    n.state = midi == 54 ? "dead" : "speaks";
    if (midi != 54) {
      n.hz = Hertz{523.25 * std::exp2((midi - 60) / 12.0)};
      n.cents = midi == 68 ? out : Cents{0.1 * (midi % 3)};
      n.cents_95 = n.cents_in_run_95 = Cents{0.2};
    }
    notes.push_back(n);
  }
  return notes;
}

// What a measuring found reaches the tuner's page in keyboard words; what the book says already stands there once; notes
// out of tune in the cold are counted and left out.
TEST_F(MeasureJob, FindingsReachTheTunersPage) {
  const auto organ = open_organ(folder_);
  ASSERT_TRUE(organ);
  auto book = open_book(*organ);
  ASSERT_TRUE(book);
  const double tuned_at = organ->described.pitch.at.value.value();
  ASSERT_TRUE(book->add(run_of("2026-03-01", tuned_at), principal_with_one_dead(Cents{9})));
  auto page = tuners_page(*organ, *book, "2026-04-01");
  ASSERT_TRUE(page) << sentence(page.error());
  EXPECT_EQ(page->measured, 2);
  EXPECT_EQ(page->left_out_cold, 0);
  EXPECT_THAT(page->html, HasSubstr("tenor F sharp</td><td>dead"));
  EXPECT_THAT(page->html, HasSubstr("out of tune, 9 cents sharp"));

  const auto fault = parse_fault(organ->described, "Principal 4 F#3 dead");
  ASSERT_TRUE(fault) << sentence(fault.error());
  BookFault dated = *fault;
  dated.reported = "2026-03-05";
  ASSERT_TRUE(book->add(dated));
  page = tuners_page(*organ, *book, "2026-04-01");
  ASSERT_TRUE(page);
  EXPECT_EQ(page->faults.size(), 1U);
  EXPECT_EQ(page->measured, 1);

  ASSERT_TRUE(book->add(run_of("2026-12-01", tuned_at - 8.0), principal_with_one_dead(Cents{9})));
  page = tuners_page(*organ, *book, "2026-12-02");
  ASSERT_TRUE(page);
  EXPECT_EQ(page->measured, 0);
  EXPECT_EQ(page->left_out_cold, 1);
  EXPECT_THAT(page->html, Not(HasSubstr("cents sharp")));

  // A recording that breaks off says nothing of the keys that were not played.
  std::vector<RunNote> broken_off = principal_with_one_dead(Cents{0});
  for (std::size_t i = 30; i < broken_off.size(); ++i) {
    broken_off[i].state = "dead";
    broken_off[i].hz.reset();
    broken_off[i].cents.reset();
  }
  ASSERT_TRUE(book->add(run_of("2027-01-10", tuned_at), broken_off));
  page = tuners_page(*organ, *book, "2027-01-11");
  ASSERT_TRUE(page);
  EXPECT_EQ(page->measured, 0);
}

// A pipe found silent is dead in the organ of a later day, until the tuner has been.
TEST_F(MeasureJob, AMeasuredDeadPipeIsDeadUntilAVisit) {
  const auto organ = open_organ(folder_);
  ASSERT_TRUE(organ);
  auto book = open_book(*organ);
  ASSERT_TRUE(book);
  const double tuned_at = organ->described.pitch.at.value.value();
  ASSERT_TRUE(book->add(run_of("2026-03-01", tuned_at), principal_with_one_dead(Cents{0})));
  const auto dead_on = [&](const char* day) {
    Asked asked;
    asked.on = day;
    const auto of_day = open_organ(folder_, asked);
    EXPECT_TRUE(of_day);
    return of_day ? of_day->day.dead.size() : 99U;
  };
  EXPECT_EQ(dead_on("2026-02-01"), 0U);
  EXPECT_EQ(dead_on("2026-04-01"), 1U);
  VisitRequest visit;
  visit.visit.date = "2026-05-11";
  visit.stop = "Great: Principal 4";
  ASSERT_TRUE(write_visit(*organ, visit));
  EXPECT_EQ(dead_on("2026-05-10"), 1U);
  EXPECT_EQ(dead_on("2026-05-12"), 0U);
  // The tuner's page goes the same way.
  const auto measured_on = [&](const char* day) {
    const auto page = tuners_page(*organ, *book, day);
    EXPECT_TRUE(page);
    return page ? page->measured : -1;
  };
  EXPECT_EQ(measured_on("2026-02-01"), 0);
  EXPECT_EQ(measured_on("2026-05-10"), 1);
  EXPECT_EQ(measured_on("2026-05-12"), 0);
  visit.stop = "Bombardon";
  EXPECT_FALSE(write_visit(*organ, visit));
}

}  // namespace
}  // namespace calcant
