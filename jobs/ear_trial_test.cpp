#include "jobs/ear_trial.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <filesystem>

#include "engine/quantity/random.hpp"
#include "jobs/saved.hpp"
#include "jobs/weigh.hpp"

namespace calcant {
namespace {

// A copy of the village organ with a book of its own.
class EarTrialJob : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = std::filesystem::temp_directory_path() / ("calcant-trial-" + std::to_string(getpid()));
    std::filesystem::remove_all(folder_);
    std::filesystem::create_directories(folder_);
    std::filesystem::copy_file("demo/village/organ.toml", folder_ / "organ.toml");
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  OrganContext open(const Asked& asked = {}) const {
    auto context = open_organ(folder_, asked);
    EXPECT_TRUE(context) << (context ? "" : sentence(context.error()));
    return context.value_or(OrganContext{});
  }
  std::string weighed() const {
    const OrganContext context = open();
    const auto w =
        weigh_registration(context, "Open Diapason 8, Clarabella 8, Principal 4", "Great:C4,E4,G4", 10, Work{});
    EXPECT_TRUE(w);
    return w ? json_text(context, *w) : "";
  }

  std::filesystem::path folder_;
};

constexpr const char* all_first = "1 A, 2 A, 3 A, 4 A, 5 A, 6 A, 7 A, 8 A, 9 A, 10 A";
constexpr const char* all_second = "1 B, 2 B, 3 B, 4 B, 5 B, 6 B, 7 B, 8 B, 9 B, 10 B";

TEST_F(EarTrialJob, AnswersReachEveryFigureAndUndoGivesBackTheBytes) {
  const std::string before = weighed();
  ASSERT_TRUE(ear_trial(open(), "2026-11-20", Work{}));
  EXPECT_EQ(weighed(), before);  // a sheet without answers says nothing
  const auto answered = answer_ear_trial(open(), all_first);
  ASSERT_TRUE(answered) << sentence(answered.error());

  const OrganContext now = open();
  EXPECT_THAT(now.heard, testing::MatchesRegex("agreed with your ear in [0-9]+ of 10 \\(20 November 2026\\)"));
  ASSERT_FALSE(now.by_ear.empty());
  for (const Overlay::RankFigure& f : now.by_ear) {
    const Rank& was = now.described.ranks[static_cast<std::size_t>(*rank_by_id(now.described, f.rank))];
    const Rank& is = now.organ.ranks[static_cast<std::size_t>(*rank_by_id(now.organ, f.rank))];
    EXPECT_EQ(is.loudness.value.value(), f.value.value);
    EXPECT_EQ(is.loudness.basis, "ear trial");
    EXPECT_EQ(is.loudness.date, "2026-11-20");
    EXPECT_LE(std::abs(f.value.value - was.loudness.value.value()), 5.0);
    EXPECT_LE(*f.value.half_width_95, 5.0);
  }
  EXPECT_NE(weighed(), before);
  EXPECT_NE(std::find_if(now.overruled.begin(), now.overruled.end(),
                         [](const Overruled& o) { return o.kept.find("ear trial") != std::string::npos; }),
            now.overruled.end());
  // Nothing was measured: people are still told order and kind.
  EXPECT_THAT(weighed(), testing::HasSubstr("\"all_assumed\": true"));
  // The organ of a day before the trial does not know of it.
  Asked earlier;
  earlier.on = "2026-11-19";
  EXPECT_EQ(open(earlier).heard, "not yet heard here");

  ASSERT_TRUE(undo_ear_trial(open()));
  EXPECT_EQ(weighed(), before);
  EXPECT_FALSE(undo_ear_trial(open()));
}

TEST_F(EarTrialJob, TheNewestTrialIsTheOneTold) {
  ASSERT_TRUE(ear_trial(open(), "2026-11-20", Work{}));
  ASSERT_TRUE(answer_ear_trial(open(), all_first));
  EXPECT_FALSE(ear_trial(open(), "2026-11-20", Work{}));
  const auto second = ear_trial(open(), "2026-11-27", Work{});
  ASSERT_TRUE(second) << sentence(second.error());
  ASSERT_EQ(second->pairs.size(), 10U);
  ASSERT_TRUE(answer_ear_trial(open(), "1 same, 2 b; 3 A"));
  EXPECT_THAT(open().heard, testing::MatchesRegex("agreed with your ear in [0-3] of 3 \\(27 November 2026\\)"));
  // The same pair answered again counts once.
  ASSERT_TRUE(answer_ear_trial(open(), "1 A"));
  EXPECT_THAT(open().heard, testing::HasSubstr(" of 3 "));
  ASSERT_TRUE(undo_ear_trial(open()));
  EXPECT_THAT(open().heard, testing::HasSubstr(" of 10 (20 November 2026)"));
}

TEST_F(EarTrialJob, OneAnswerAndAWholeSheetAreTakenBackAndTakenUpAgain) {
  EXPECT_TRUE(newest_ear_trial(open()).value().pairs.empty());
  ASSERT_TRUE(ear_trial(open(), "2026-11-20", Work{}));
  ASSERT_TRUE(answer_ear_trial(open(), "1 A"));
  const std::string one = weighed();
  ASSERT_TRUE(answer_ear_trial(open(), "1 B, 2 A"));
  ASSERT_TRUE(answer_ear_trial(open(), "1 A, 2 -"));
  EXPECT_EQ(weighed(), one);
  EXPECT_THAT(open().heard, testing::HasSubstr(" of 1 "));

  const auto gone = undo_ear_trial(open());
  ASSERT_TRUE(gone);
  std::vector<EntryId> pairs;
  for (const TrialAnswer& a : gone->pairs) pairs.push_back(a.id);
  EXPECT_FALSE(restore_ear_trial(open(), {}));
  EXPECT_FALSE(restore_ear_trial(open(), {pairs.front(), 999}));
  ASSERT_TRUE(restore_ear_trial(open(), pairs));
  EXPECT_EQ(weighed(), one);
  EXPECT_FALSE(restore_ear_trial(open(), pairs));  // it counts already

  ASSERT_TRUE(undo_ear_trial(open()));
  ASSERT_TRUE(ear_trial(open(), "2026-11-20", Work{}));
  EXPECT_FALSE(restore_ear_trial(open(), pairs));  // another sheet of that day counts by now
  EXPECT_EQ(newest_ear_trial(open()).value().pairs.size(), 10U);
}

TEST_F(EarTrialJob, WordsThatAreNoAnswersAreTold) {
  ASSERT_TRUE(ear_trial(open(), "2026-11-20", Work{}));
  for (const char* wrong : {"", "x", "0 A", "11 A", "1", "1 C", "1 A, 1 B", "99999999999999 A", "1 A 2 B"}) {
    const auto r = answer_ear_trial(open(), wrong);
    EXPECT_FALSE(r) << wrong;
  }
  EXPECT_EQ(open().heard, "not yet heard here");
}

// A child answers over and over and is killed at a random moment: ten answers stand or none of that round, never some.
TEST_F(EarTrialJob, SurvivesKills) {
  ASSERT_TRUE(ear_trial(open(), "2026-11-20", Work{}));
  Random random{5};
  for (int round = 0; round < 6; ++round) {
    const pid_t child = fork();
    ASSERT_GE(child, 0);
    if (child == 0) {
      const auto context = open_organ(folder_, {});
      for (bool first = true; context; first = !first) {
        if (!answer_ear_trial(*context, first ? all_first : all_second)) _exit(1);
      }
      _exit(1);
    }
    usleep(static_cast<useconds_t>(random.uniform(50'000, 250'000)));
    kill(child, SIGKILL);
    waitpid(child, nullptr, 0);
    auto book = Book::open((folder_ / "organ.book").string(), "village");
    ASSERT_TRUE(book) << sentence(book.error());
    const auto pairs = book->trial();
    ASSERT_TRUE(pairs);
    ASSERT_EQ(pairs->size(), 10U);
    for (const TrialAnswer& a : *pairs) EXPECT_EQ(a.answered, pairs->front().answered);
  }
}

TEST_F(EarTrialJob, PairsOfStopsThatAreGoneAreTold) {
  ASSERT_TRUE(ear_trial(open(), "2026-11-20", Work{}));
  {
    auto book = Book::open((folder_ / "organ.book").string(), "village");
    ASSERT_TRUE(book);
    TrialAnswer lost;
    lost.date = "2026-11-20";
    lost.first = "Ophicleide 32";
    lost.second = "Open Diapason 8";
    lost.keys = "Great:C4";
    lost.question = "louder";
    lost.predicted = lost.answered = "first";
    ASSERT_TRUE(book->add(lost));
  }
  const OrganContext context = open();
  EXPECT_THAT(context.notes, testing::Contains(testing::HasSubstr("Ophicleide 32")));
}

TEST_F(EarTrialJob, SavedRegistrationsOfAnotherSpecificationAreTold) {
  auto book = Book::open((folder_ / "organ.book").string(), "village");
  ASSERT_TRUE(book);
  ASSERT_TRUE(book->save({"old favourite", "Ophicleide 32", "2020-01-01", ""}));
  const auto drawn = drawn_registration(open(), "Old Favourite");
  ASSERT_FALSE(drawn);
  EXPECT_THAT(drawn.error().message, testing::HasSubstr("does not fit this organ any more"));
}

}  // namespace
}  // namespace calcant
