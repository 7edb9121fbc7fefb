// Long work: begun by a request, told of by events, asked after, cancelled. A few threads do it, in the order it came.
#pragma once

#include <condition_variable>
#include <cstdint>
#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "desk/events.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/work.hpp"

namespace calcant::desk {

struct TaskSettings {
  int workers = 2;
  int threads = 1;  // of each task's Work
  std::size_t most_waiting = 16;
  std::size_t most_kept = 64;  // ended ones that can still be asked after
  std::string run;  // of this run of the desk: begins every task's name, so that another run's is not taken for it
};

class Tasks {
 public:
  // Its result as JSON.
  using Job = std::function<Result<std::string>(const Work&)>;

  Tasks(TaskSettings settings, Events& events);
  // Asks what works to stop and waits for it.
  ~Tasks();
  Tasks(const Tasks&) = delete;
  Tasks& operator=(const Tasks&) = delete;

  // The task's name; an error when too much waits already. kind: "prepare"; title: for people.
  [[nodiscard]] Result<std::string> start(std::string kind, std::string title, Job job);
  // As schema Task of openapi.yaml; nothing where there is no such task (any more).
  [[nodiscard]] std::optional<std::string> json(const std::string& task) const;
  [[nodiscard]] std::string list_json() const;  // {"tasks":[...]}, newest first, without results
  // Asks it to stop: what waits is cancelled at once, what works when it next looks. False where there is none.
  bool cancel(const std::string& task);
  // No more is begun, what works is asked to stop. Does not wait.
  void stop();
  [[nodiscard]] bool stopping() const;

 private:
  enum class State { waiting, working, done, failed, cancelled };
  struct Task {
    std::string name;
    std::string kind;
    std::string title;
    Job job;
    State state = State::waiting;
    double share = 0;
    std::string what;
    std::string result;
    Error error;
    std::stop_source stop;
  };
  using Known = std::shared_ptr<Task>;

  void work();
  void perform(const Known& task);
  void progress(const Known& task, double share, std::string_view what);
  void end(const Known& task, Result<std::string> result);
  void forget_old();
  static std::string json(const Task& task, bool with_result);
  void tell(const Task& task, const char* event);

  TaskSettings settings_;
  Events& events_;
  mutable std::mutex mutex_;
  std::condition_variable more_;
  bool stopping_ = false;
  std::uint64_t next_ = 1;
  std::deque<Known> waiting_;
  std::vector<Known> known_;  // in the order they came
  std::vector<std::thread> workers_;
};

}  // namespace calcant::desk
