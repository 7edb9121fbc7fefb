#include "book/book.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <thread>

#include "book/schema.hpp"
#include "engine/quantity/random.hpp"

namespace calcant {
namespace {

class BookTest : public testing::Test {
 protected:
  BookTest() {
    folder_ = std::filesystem::temp_directory_path() / ("calcant-book-" + std::to_string(getpid()) + "-" +
                                                        testing::UnitTest::GetInstance()->current_test_info()->name());
    std::filesystem::remove_all(folder_);
    std::filesystem::create_directories(folder_);
  }
  ~BookTest() override { std::filesystem::remove_all(folder_); }
  [[nodiscard]] std::string path() const { return (folder_ / "organ.book").string(); }

  std::filesystem::path folder_;
};

BookFault dead_f_sharp() {
  BookFault f;
  f.stop = "ped-bourdon";
  f.division = "pedal";
  f.key = Note{42};
  f.rank = "ped-bourdon";
  f.pipe = 7;
  f.kind = FaultKind::dead;
  f.words = "F#2 dead, \"quite\" silent";
  f.when = "cold";
  f.reported = "2026-11-01";
  f.temperature = Celsius{8.5};
  return f;
}

TEST_F(BookTest, FaultsAreKeptListedAndClosed) {
  {
    auto book = Book::open(path(), "village");
    ASSERT_TRUE(book) << sentence(book.error());
    ASSERT_EQ(book->add(dead_f_sharp()).value(), 1);
    BookFault whole = dead_f_sharp();
    whole.key.reset();
    whole.kind = FaultKind::out_of_use;
    whole.reported = "2026-11-20";
    ASSERT_TRUE(book->add(whole));
  }
  auto book = Book::open(path(), "village");
  ASSERT_TRUE(book);
  BookFault want = dead_f_sharp();
  want.id = 1;
  EXPECT_EQ(book->faults().value().at(0), want);
  EXPECT_EQ(book->faults_open("2026-11-10").value().size(), 1U);  // the second is reported later
  const auto visit = book->add(Visit{0, "2026-11-22", "the tuner", "new motor", Celsius{14}});
  ASSERT_TRUE(visit);
  ASSERT_TRUE(book->close_fault(1, "2026-11-22", "motor re-leathered", *visit));
  EXPECT_EQ(book->faults_open("2026-11-21").value().size(), 2U);  // as it was the day before
  EXPECT_EQ(book->faults_open("").value().size(), 1U);
  EXPECT_FALSE(book->close_fault(99, "2026-11-22", ""));
}

TEST_F(BookTest, AVisitClosesItsFaultsOrIsNotWritten) {
  auto book = Book::open(path(), "village");
  ASSERT_TRUE(book);
  ASSERT_TRUE(book->add(dead_f_sharp()));
  ASSERT_TRUE(book->add(dead_f_sharp()));
  const Visit visit{0, "2026-11-22", "", "new motors", Celsius{14}};
  EXPECT_FALSE(book->add(visit, {1, 7}));
  EXPECT_TRUE(book->visits().value().empty());
  EXPECT_EQ(book->faults_open("").value().size(), 2U);
  const auto id = book->add(visit, {2, 1});
  ASSERT_TRUE(id) << sentence(id.error());
  const auto faults = book->faults().value();
  EXPECT_EQ(faults[0].visit, *id);
  EXPECT_EQ(faults[1].remedy, "new motors");
  EXPECT_FALSE(book->add(visit, {1}));  // closed already
}

TEST_F(BookTest, RunsAreWholeAndComeBackEqual) {
  auto book = Book::open(path(), "village");
  ASSERT_TRUE(book);
  RunNote note;
  note.key = Note{60};
  note.rank = "gt-principal";
  note.pipe = 25;
  note.state = "speaks";
  note.hz = Hertz{523.25};
  note.cents = Cents{-3.25};
  note.cents_95 = Cents{0.5};
  note.ruled_by = "wind";
  note.harmonics_db = {0, -6.25, -11};
  note.heard = Note{61};
  note.sounds_at = 2.0;
  note.resolution_ms = 11.5;
  note.speaks_first = 3;
  note.chiff = Decibels{-21.5};
  note.wind_noise = Decibels{-40};
  note.unsteady = Cents{0.75};
  note.beat = Hertz{1.5};
  note.beat_apart = Cents{5};
  note.late_ms = 80.0;
  note.clipped = true;
  RunNote dead;
  dead.key = Note{61};
  dead.state = "dead";
  calcant::Run run;
  run.stop = "gt-principal";
  run.date = "2026-11-02";
  run.temperature = Celsius{14.5};
  run.close = true;
  run.sides = true;
  run.decisions = "decisions 1\n";
  const auto id = book->add(run, {note, dead});
  ASSERT_TRUE(id);
  const auto back = book->notes(*id).value();
  ASSERT_EQ(back.size(), 2U);
  EXPECT_EQ(back[0], note);
  EXPECT_EQ(back[1], dead);
  EXPECT_EQ(book->runs().value().at(0).temperature, Celsius{14.5});
  EXPECT_TRUE(book->runs().value().at(0).sides);

  // Corrected: all of it, and only by who has seen what is there.
  run.id = *id;
  run.decisions = "decisions 1\n! C4 dead\n";
  ASSERT_TRUE(book->correct_run(run, {dead}, "decisions 1\n"));
  EXPECT_EQ(book->notes(*id).value(), std::vector<RunNote>{dead});
  EXPECT_EQ(book->runs().value().at(0).decisions, run.decisions);
  const auto late = book->correct_run(run, {note, dead}, "decisions 1\n");
  ASSERT_FALSE(late);
  EXPECT_NE(late.error().message.find("corrected elsewhere"), std::string::npos);
  EXPECT_EQ(book->notes(*id).value(), std::vector<RunNote>{dead});
  ASSERT_TRUE(book->remove_run(*id));
  EXPECT_TRUE(book->notes(*id).value().empty());
}

TEST_F(BookTest, RegistrationsTrialAndServiceLines) {
  auto book = Book::open(path(), "village");
  ASSERT_TRUE(book);
  ASSERT_TRUE(book->save({"hymn start", "Open Diapason 8, Principal 4", "2026-11-01", ""}));
  ASSERT_TRUE(book->save({"hymn start", "Open Diapason 8", "2026-11-02", ""}));
  ASSERT_EQ(book->registrations().value().size(), 1U);
  EXPECT_EQ(book->registrations().value()[0].draw, "Open Diapason 8");
  EXPECT_FALSE(book->forget_registration("nothing"));
  const std::string was = book->registrations().value()[0].name;
  ASSERT_TRUE(book->rename_registration(was, "evening"));
  ASSERT_TRUE(book->save({was, "Dulciana 8", "2026-11-02", ""}));
  EXPECT_FALSE(book->rename_registration(was, "evening"));  // taken: nothing is changed
  EXPECT_FALSE(book->rename_registration("nothing", "something"));
  EXPECT_EQ(book->registrations().value().size(), 2U);
  ASSERT_TRUE(book->forget_registration(was));
  ASSERT_TRUE(book->rename_registration("evening", was));
  TrialAnswer a;
  a.date = "2026-11-03";
  a.predicted = "first";
  const auto id = book->add(a);
  ASSERT_TRUE(book->answer({{*id, "second"}}));
  ASSERT_TRUE(book->undo_trial("2026-11-03"));
  EXPECT_TRUE(book->trial().value().at(0).undone);
  ASSERT_TRUE(book->add(AfterService{0, "2026-11-08", "hymn 2, St Anne", "too thin", "v3"}));
  EXPECT_EQ(book->after_services().value().at(0).verdict, "too thin");
}

TEST_F(BookTest, HandedInTwiceCountsOnceAlsoAfterItWasTakenBack) {
  auto book = Book::open(path(), "village");
  ASSERT_TRUE(book);
  const auto first = book->hand_in(dead_f_sharp(), "tab-1-fault-1");
  ASSERT_TRUE(first) << first.error().message;
  EXPECT_FALSE(first->before);
  const auto again = book->hand_in(dead_f_sharp(), "tab-1-fault-1");
  EXPECT_TRUE(again->before);
  EXPECT_EQ(again->fault, first->fault);
  EXPECT_FALSE(book->hand_in(dead_f_sharp(), "tab-1-fault-2")->before);
  EXPECT_EQ(book->faults().value().size(), 2U);
  ASSERT_TRUE(book->take_back_fault(*first->fault));
  EXPECT_FALSE(book->take_back_fault(*first->fault));
  const auto late = book->hand_in(dead_f_sharp(), "tab-1-fault-1");
  EXPECT_TRUE(late->before);
  EXPECT_FALSE(late->fault);
  EXPECT_EQ(book->faults().value().size(), 1U);
}

TEST_F(BookTest, WhatIsSaidOfAnItemAgainReplacesWhatWasSaid) {
  auto book = Book::open(path(), "village");
  ASSERT_TRUE(book);
  ASSERT_TRUE(book->say_after({0, "2026-11-08", "112 Winchester New", "too thin", "v3"}));
  ASSERT_TRUE(book->say_after({0, "2026-11-08", "58 Dundee", "right", ""}));
  ASSERT_TRUE(book->say_after({0, "2026-11-15", "58 Dundee", "too strong", ""}));
  ASSERT_TRUE(book->say_after({0, "2026-11-08", "112 Winchester New", "right", ""}));
  auto lines = book->after_services().value();
  ASSERT_EQ(lines.size(), 3U);
  EXPECT_EQ(lines[1].item, "112 Winchester New");
  EXPECT_EQ(lines[1].verdict, "right");
  ASSERT_TRUE(book->say_after({0, "2026-11-08", "58 Dundee", "", ""}));
  EXPECT_EQ(book->after_services().value().size(), 2U);
}

TEST_F(BookTest, WhatIsHeardOfACouplerAgainReplacesWhatWasHeard) {
  auto book = Book::open(path(), "village");
  ASSERT_TRUE(book);
  const CouplerHeard odd{"gt-pd", "sw-gt", "2026-11-08", "a wrong note", std::nullopt};
  CouplerHeard said{"gt-pd", "sw-gt", "2026-11-09", "the Swell", true};
  const CouplerHeard other{"sw-gt", "sw-oct", "2026-11-09", "one pitch", false};
  for (const CouplerHeard& h : {odd, other, said}) ASSERT_TRUE(book->hear(h));
  EXPECT_EQ(book->couplers_heard().value(), (std::vector<CouplerHeard>{said, other}));
  EXPECT_NE(book->export_json()->find("\"coupler_heard\""), std::string::npos);
  said.heard.clear();
  ASSERT_TRUE(book->hear(said));
  ASSERT_TRUE(book->hear(odd));
  EXPECT_EQ(book->couplers_heard().value(), (std::vector<CouplerHeard>{odd, other}));
}

// A book as the first version of the format made it.
TEST_F(BookTest, AnOlderBookIsBroughtUpToDateAndKeptBesideItself) {
  {
    SQLite::Database old{path(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE};
    old.exec(std::string{book_migrations[0]});
    old.exec("INSERT INTO about VALUES ('organ', 'village'); PRAGMA user_version = 1");
    old.exec(
        "INSERT INTO fault (stop, division, rank, pipe, kind, words, heard_when, reported) VALUES "
        "('pd-bourdon', 'pedal', '', 0, 'dead', 'dead', '', '2026-01-01')");
  }
  auto book = Book::open(path(), "village");
  ASSERT_TRUE(book) << book.error().message;
  EXPECT_EQ(book->faults().value().size(), 1U);
  EXPECT_FALSE(book->hand_in(dead_f_sharp(), "tab-1-fault-1")->before);
  EXPECT_TRUE(std::filesystem::exists(path() + ".before-v5"));
}

TEST_F(BookTest, RefusesWhatIsNotItsOwn) {
  { ASSERT_TRUE(Book::open(path(), "village")); }
  const auto other = Book::open(path(), "chapel");
  ASSERT_FALSE(other);
  EXPECT_NE(other.error().message.find("belongs to the organ \"village\""), std::string::npos);

  { SQLite::Database{path(), SQLite::OPEN_READWRITE}.exec("PRAGMA user_version = 999"); }
  const auto newer = Book::open(path(), "village");
  ASSERT_FALSE(newer);
  EXPECT_NE(newer.error().message.find("newer Calcant"), std::string::npos);

  const std::string text = (folder_ / "text.book").string();
  std::ofstream{text} << std::string(5000, 'x');
  EXPECT_FALSE(Book::open(text, "village"));
  EXPECT_EQ(std::filesystem::file_size(text), 5000U);  // left as it was

  const std::string strange = (folder_ / "strange.book").string();
  { SQLite::Database{strange, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE}.exec("CREATE TABLE t (x)"); }
  EXPECT_FALSE(Book::open(strange, "village"));
  EXPECT_FALSE(Book::open((folder_ / "no such folder" / "organ.book").string(), "village"));
}

TEST_F(BookTest, CopiesWhileOpenAndExports) {
  auto book = Book::open(path(), "village");
  ASSERT_TRUE(book);
  ASSERT_TRUE(book->add(dead_f_sharp()));
  const std::string copy = (folder_ / "copy.book").string();
  ASSERT_TRUE(book->copy_to(copy));
  ASSERT_TRUE(book->add(dead_f_sharp()));  // still in use
  EXPECT_EQ(Book::open(copy, "village").value().faults().value().size(), 1U);
  const auto json = book->export_json();
  ASSERT_TRUE(json);
  EXPECT_NE(json->find("\"kind\": \"dead\""), std::string::npos);
  ASSERT_TRUE(book->export_csv((folder_ / "csv").string()));
  std::ifstream csv{folder_ / "csv" / "fault.csv"};
  std::string line;
  std::getline(csv, line);
  std::getline(csv, line);
  EXPECT_NE(line.find("\"F#2 dead, \"\"quite\"\" silent\""), std::string::npos) << line;
}

// A book of the first format, as a program of that time left it: brought up to date, nothing lost, and a copy of what it
// was stands beside it.
TEST_F(BookTest, AnOlderBookIsCopiedAndBroughtUpToDate) {
  {
    SQLite::Database old{path(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE};
    old.exec(std::string{book_migrations[0]});
    old.exec(
        "INSERT INTO about VALUES ('organ', 'village');"
        "INSERT INTO visit VALUES (1, '2025-05-01', 'the tuner', 'tuned', 15);"
        "INSERT INTO run VALUES (1, 'gt-principal', '2025-05-02', 14.5, NULL, 'nave', 0, 'run.wav', '', '');"
        "INSERT INTO run_note VALUES (1, 1, 60, 'gt-principal', 25, 'speaks', 3.5, 523.25, -3.25, 1.5, -1, 0.1, "
        "'wind', 20, 30, 1, -2, 1, 1, '0.00 -6.00');"
        "PRAGMA user_version = 1");
  }
  {
    auto book = Book::open(path(), "village");
    ASSERT_TRUE(book) << sentence(book.error());
    const auto notes = book->notes(1).value();
    ASSERT_EQ(notes.size(), 1U);
    EXPECT_EQ(notes[0].hz, Hertz{523.25});
    EXPECT_EQ(notes[0].harmonics_db, (std::vector<double>{0, -6}));
    EXPECT_EQ(notes[0].sounds_at, 1.0);
    EXPECT_FALSE(notes[0].clipped);
    EXPECT_EQ(book->visits().value().at(0).work, "tuned");
    ASSERT_TRUE(book->add(Visit{0, "2026-05-01", "", "reeds", std::nullopt, "sw-oboe"}));
    EXPECT_EQ(book->visits().value().at(1).stop, "sw-oboe");
  }
  SQLite::Database before{path() + ".before-v5", SQLite::OPEN_READONLY};
  EXPECT_EQ(before.execAndGet("PRAGMA user_version").getInt(), 1);
  EXPECT_EQ(before.execAndGet("SELECT count(*) FROM run_note").getInt(), 1);
}

// A migration that cannot be done leaves the old book as it was.
TEST_F(BookTest, AFailedMigrationChangesNothing) {
  {
    SQLite::Database old{path(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE};
    old.exec(std::string{book_migrations[0]});
    // Somebody's own column stands where the new one ought to be, the last of the step.
    old.exec(
        "INSERT INTO about VALUES ('organ', 'village'); ALTER TABLE run_note ADD COLUMN clipped INTEGER;"
        "PRAGMA user_version = 1");
  }
  EXPECT_FALSE(Book::open(path(), "village"));
  SQLite::Database left{path(), SQLite::OPEN_READONLY};
  EXPECT_EQ(left.execAndGet("PRAGMA user_version").getInt(), 1);
  EXPECT_EQ(left.execAndGet("SELECT count(*) FROM pragma_table_info('visit') WHERE name = 'stop'").getInt(), 0);
}

// Two tabs, or a tab and the command line, may be the first to open the book of an organ.
TEST_F(BookTest, ManyMayOpenANewBookAtOnce) {
  for (int round = 0; round < 8; ++round) {
    const std::string fresh = (folder_ / fmt::format("fresh-{}.book", round)).string();
    std::vector<std::string> wrong(4);
    std::vector<std::thread> programs;
    for (std::string& said : wrong) {
      programs.emplace_back([&said, &fresh] {
        auto book = Book::open(fresh, "village");
        if (!book) said = sentence(book.error());
        else if (auto written = book->add(dead_f_sharp()); !written) said = sentence(written.error());
      });
    }
    for (std::thread& p : programs) p.join();
    EXPECT_EQ(wrong, std::vector<std::string>(4)) << "round " << round;
    EXPECT_EQ(Book::open(fresh, "village").value().faults().value().size(), 4U);
  }
}

// A child writes faults one by one and tells each when it is saved; it is killed at a random moment. What it
// had told is in the book, and the book opens.
TEST_F(BookTest, SurvivesKillsAtRandomMoments) {
  Random random{11};
  std::int64_t promised = 0;
  for (int round = 0; round < 12; ++round) {
    int ends[2];
    ASSERT_EQ(pipe(ends), 0);
    const pid_t child = fork();
    ASSERT_GE(child, 0);
    if (child == 0) {
      close(ends[0]);
      auto book = Book::open(path(), "village");
      while (book) {
        const auto id = book->add(dead_f_sharp());
        if (!id) _exit(1);
        if (write(ends[1], &*id, sizeof *id) != sizeof *id) _exit(1);
      }
      _exit(1);
    }
    close(ends[1]);
    usleep(static_cast<useconds_t>(random.uniform(2'000, 60'000)));
    kill(child, SIGKILL);
    waitpid(child, nullptr, 0);
    for (std::int64_t id = 0; read(ends[0], &id, sizeof id) == sizeof id;) promised = id;
    close(ends[0]);
    auto book = Book::open(path(), "village");
    ASSERT_TRUE(book) << sentence(book.error());
    const auto kept = book->faults().value();
    ASSERT_GE(kept.empty() ? 0 : kept.back().id, promised);
    ASSERT_EQ(static_cast<std::int64_t>(kept.size()),
              kept.empty() ? 0 : kept.back().id);  // none in between is lost
  }
  EXPECT_GT(promised, 0);
}

}  // namespace
}  // namespace calcant
