#include "desk/tasks.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <condition_variable>
#include <nlohmann/json.hpp>

#include "jobs/json.hpp"

namespace calcant::desk {
namespace {

using testing::HasSubstr;

// Something to wait for, without looking at a clock.
class Gate {
 public:
  void open() {
    const std::lock_guard lock{mutex_};
    open_ = true;
    changed_.notify_all();
  }
  void wait() {
    std::unique_lock lock{mutex_};
    changed_.wait(lock, [this] { return open_; });
  }

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
  bool open_ = false;
};

// Reads a stream until it has told `what`.
std::string told(EventStream& stream, const std::string& what) {
  std::string all;
  std::mutex mutex;
  std::condition_variable more;
  bool ready = false;
  stream.when_ready([&] {
    const std::lock_guard lock{mutex};
    ready = true;
    more.notify_all();
  });
  while (all.find(what) == std::string::npos) {
    std::unique_lock lock{mutex};
    more.wait(lock, [&] { return ready; });
    ready = false;
    all += stream.take();
  }
  stream.when_ready({});
  return all;
}

std::string state(const Tasks& tasks, const std::string& task) {
  const auto json = tasks.json(task);
  return json ? Json::parse(*json).at("state").get<std::string>() : "unknown";
}

TEST(Tasks, TellsHowFarAndKeepsTheResult) {
  Events events{1};
  const auto stream = events.open(std::nullopt);
  Tasks tasks{{.workers = 1, .threads = 3, .run = "ab"}, events};
  const auto task = tasks.start("prepare", "The sheet", [](const Work& work) -> Result<std::string> {
    EXPECT_EQ(work.threads, 3);
    work.tell(0.5, "half \"way\"");
    return R"({"answer":42})";
  });
  ASSERT_TRUE(task);
  EXPECT_EQ(*task, "ab-1");
  const std::string all = told(*stream, "event: done");
  EXPECT_THAT(all, HasSubstr("event: progress"));
  EXPECT_THAT(all, HasSubstr(R"("what":"half \"way\"")"));
  EXPECT_THAT(all, HasSubstr(R"("share":0.5)"));
  EXPECT_THAT(all, testing::Not(HasSubstr("42")));  // results are asked for
  const Json j = Json::parse(*tasks.json(*task));
  EXPECT_EQ(j.at("state"), "done");
  EXPECT_EQ(j.at("result").at("answer"), 42);
  EXPECT_EQ(j.at("kind"), "prepare");
  EXPECT_EQ(j.at("title"), "The sheet");
  EXPECT_FALSE(tasks.json("ab-2"));
  EXPECT_EQ(Json::parse(tasks.list_json()).at("tasks").size(), 1U);
}

TEST(Tasks, FailuresAreSentences) {
  Events events{1};
  const auto stream = events.open(std::nullopt);
  Tasks tasks{{.run = "r"}, events};
  const auto task =
      tasks.start("hear", "x", [](const Work&) -> Result<std::string> { return fail("No such stop.", "draw"); });
  EXPECT_THAT(told(*stream, "event: failed"), HasSubstr(R"("message":"No such stop.","where":"draw")"));
  EXPECT_EQ(state(tasks, *task), "failed");
  const auto thrown =
      tasks.start("hear", "x", [](const Work&) -> Result<std::string> { throw std::runtime_error("oops"); });
  EXPECT_THAT(told(*stream, "event: failed"), HasSubstr("oops"));
}

TEST(Tasks, WorkingAndWaitingOnesAreCancelled) {
  Events events{1};
  const auto stream = events.open(std::nullopt);
  Tasks tasks{{.workers = 1, .run = "r"}, events};
  Gate begun;
  const auto job = [&](const Work& work) -> Result<std::string> {
    begun.open();
    while (!work.stop.stop_requested()) std::this_thread::yield();
    return fail("Stopped.");
  };
  const auto first = tasks.start("hear", "first", job);
  const auto second = tasks.start("hear", "second", job);
  begun.wait();
  EXPECT_EQ(state(tasks, *first), "working");
  EXPECT_EQ(state(tasks, *second), "waiting");
  EXPECT_TRUE(tasks.cancel(*second));
  EXPECT_EQ(state(tasks, *second), "cancelled");
  EXPECT_THAT(told(*stream, "event: cancelled"), HasSubstr("second"));
  EXPECT_TRUE(tasks.cancel(*first));
  EXPECT_THAT(told(*stream, "event: cancelled"), HasSubstr("first"));
  EXPECT_EQ(state(tasks, *first), "cancelled");
  EXPECT_FALSE(tasks.cancel("r-99"));
  // A task that was done before it looked keeps its result.
  const auto third = tasks.start("hear", "third", [](const Work&) -> Result<std::string> { return "{}"; });
  (void)told(*stream, "event: done");
  EXPECT_TRUE(tasks.cancel(*third));
  EXPECT_EQ(state(tasks, *third), "done");
}

TEST(Tasks, TooMuchIsRefusedAndOldOnesAreForgotten) {
  Events events{1};
  const auto stream = events.open(std::nullopt);
  Tasks tasks{{.workers = 1, .most_waiting = 2, .most_kept = 3, .run = "r"}, events};
  Gate begun;
  Gate go_on;
  ASSERT_TRUE(tasks.start("hear", "x", [&](const Work&) -> Result<std::string> {
    begun.open();
    go_on.wait();
    return "{}";
  }));
  begun.wait();
  const auto quick = [](const Work&) -> Result<std::string> { return "{}"; };
  ASSERT_TRUE(tasks.start("hear", "x", quick));
  ASSERT_TRUE(tasks.start("hear", "x", quick));
  const auto refused = tasks.start("hear", "x", quick);
  ASSERT_FALSE(refused);
  EXPECT_THAT(refused.error().message, HasSubstr("2 pieces of work wait"));
  go_on.open();
  for (int i = 4; i <= 8; ++i) {
    (void)told(*stream, "event: done");
    while (!tasks.start("hear", "x", quick)) std::this_thread::yield();
  }
  while (state(tasks, "r-8") != "done") std::this_thread::yield();
  EXPECT_EQ(Json::parse(tasks.list_json()).at("tasks").size(), 3U);
  EXPECT_EQ(state(tasks, "r-1"), "unknown");
}

TEST(Tasks, EndsWithWorkUnderWay) {
  Events events{1};
  Gate begun;
  {
    Tasks tasks{{.workers = 2, .run = "r"}, events};
    for (int i = 0; i < 5; ++i) {
      ASSERT_TRUE(tasks.start("hear", "x", [&](const Work& work) -> Result<std::string> {
        begun.open();
        while (!work.stop.stop_requested()) std::this_thread::yield();
        return fail("Stopped.");
      }));
    }
    begun.wait();
    tasks.stop();
    EXPECT_FALSE(tasks.start("hear", "x", [](const Work&) -> Result<std::string> { return "{}"; }));
  }
}

// -- events ----------------------------------------------------------------------------------------------------------
TEST(Events, ATabThatComesBackIsToldWhatItMissed) {
  Events events{1000};
  const auto first = events.open(std::nullopt);
  EXPECT_EQ(first->take(), "retry: 2000\n\nid: 999\n\n");
  events.tell("changed", "{\"a\":1}");
  events.tell("changed", "{\"a\":2}");
  EXPECT_EQ(first->take(),
            "id: 1000\nevent: changed\ndata: {\"a\":1}\n\nid: 1001\nevent: changed\ndata: {\"a\":2}\n\n");
  EXPECT_EQ(events.open(1000)->take(), "retry: 2000\n\nid: 1001\nevent: changed\ndata: {\"a\":2}\n\n");
  EXPECT_EQ(events.open(1001)->take(), "retry: 2000\n\n");
  EXPECT_THAT(events.open(999)->take(), HasSubstr("{\"a\":1}"));
}

TEST(Events, WhatIsNoLongerKnownIsSaidToBeAskedAgain) {
  Events events{1000};
  events.tell("x", "0");
  for (const std::uint64_t other :
       {std::uint64_t{5}, std::uint64_t{2000}}) {  // of an earlier run; of no run of this clock
    EXPECT_EQ(events.open(other)->take(), "retry: 2000\n\nid: 1000\nevent: again\ndata: {}\n\n");
  }
  for (int i = 0; i < 600; ++i) events.tell("x", std::to_string(i));
  EXPECT_THAT(events.open(1000)->take(), HasSubstr("event: again"));
  EXPECT_THAT(events.open(1599)->take(), HasSubstr("data: 599\n"));
}

TEST(Events, ATabThatDoesNotListenIsGivenUp) {
  Events events{1};
  const auto deaf = events.open(std::nullopt);
  const auto other = events.open(std::nullopt);
  const std::string much(100'000, 'x');
  for (int i = 0; i < 20; ++i) {
    events.tell("x", much);
    (void)other->take();
  }
  EXPECT_TRUE(deaf->closed());
  EXPECT_FALSE(other->closed());
  events.close_all();
  EXPECT_TRUE(other->closed());
}

TEST(Events, WhoeverWaitsIsWokenAlsoForWhatCameBefore) {
  EventStream s;
  int woken = 0;
  s.when_ready([&] { ++woken; });
  EXPECT_EQ(woken, 0);
  s.push("a");
  EXPECT_EQ(woken, 1);
  s.when_ready([&] { woken += 10; });
  EXPECT_EQ(woken, 11);
  EXPECT_EQ(s.take(), "a");
  s.close();
  EXPECT_EQ(woken, 21);
  s.push("b");
  EXPECT_EQ(s.take(), "");
}

}  // namespace
}  // namespace calcant::desk
