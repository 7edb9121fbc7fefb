#include "desk/tasks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <exception>
#include <nlohmann/json.hpp>

#include "jobs/json.hpp"

namespace calcant::desk {
namespace {

constexpr std::array<const char*, 5> states{"waiting", "working", "done", "failed", "cancelled"};
constexpr auto between_tellings = std::chrono::milliseconds{100};

}  // namespace

Tasks::Tasks(TaskSettings settings, Events& events) : settings_(std::move(settings)), events_(events) {
  for (int i = 0; i < settings_.workers; ++i) workers_.emplace_back([this] { work(); });
}

Tasks::~Tasks() {
  stop();
  for (std::thread& w : workers_) w.join();
}

void Tasks::stop() {
  const std::lock_guard lock{mutex_};
  stopping_ = true;
  for (const Known& t : known_) t->stop.request_stop();
  more_.notify_all();
}

bool Tasks::stopping() const {
  const std::lock_guard lock{mutex_};
  return stopping_;
}

Result<std::string> Tasks::start(std::string kind, std::string title, Job job) {
  const std::lock_guard lock{mutex_};
  if (stopping_) return fail("The desk is being closed.");
  if (waiting_.size() >= settings_.most_waiting) {
    return fail(fmt::format("{} pieces of work wait already; cancel one, or wait for one to end.", waiting_.size()));
  }
  auto task = std::make_shared<Task>();
  task->name = fmt::format("{}-{}", settings_.run, next_++);
  task->kind = std::move(kind);
  task->title = std::move(title);
  task->job = std::move(job);
  waiting_.push_back(task);
  known_.push_back(task);
  forget_old();
  more_.notify_one();
  return task->name;
}

void Tasks::forget_old() {
  const auto ended = [](const Known& t) { return t->state != State::waiting && t->state != State::working; };
  auto many = static_cast<std::size_t>(std::count_if(known_.begin(), known_.end(), ended));
  std::erase_if(known_, [&](const Known& t) { return ended(t) && many-- > settings_.most_kept; });
}

void Tasks::work() {
  for (;;) {
    Known task;
    {
      std::unique_lock lock{mutex_};
      more_.wait(lock, [this] { return stopping_ || !waiting_.empty(); });
      if (stopping_) return;
      task = waiting_.front();
      waiting_.pop_front();
      task->state = State::working;
      tell(*task, "progress");
    }
    perform(task);
  }
}

void Tasks::perform(const Known& task) {
  Work work;
  work.threads = settings_.threads;
  work.stop = task->stop.get_token();
  work.progress = [this, &task, last = std::chrono::steady_clock::time_point{}](double share,
                                                                                std::string_view what) mutable {
    const auto now = std::chrono::steady_clock::now();
    if (now - last < between_tellings) return;
    last = now;
    progress(task, share, what);
  };
  try {
    end(task, task->job(work));
  } catch (const std::exception& e) {
    end(task, fail(fmt::format("A fault in Calcant itself: {}.", e.what())));
  }
}

void Tasks::progress(const Known& task, double share, std::string_view what) {
  const std::lock_guard lock{mutex_};
  task->share = std::clamp(share, 0.0, 1.0);
  task->what = what;
  tell(*task, "progress");
}

void Tasks::end(const Known& task, Result<std::string> result) {
  const std::lock_guard lock{mutex_};
  task->job = nullptr;
  if (result) {
    task->state = State::done;
    task->share = 1;
    task->what.clear();
    task->result = std::move(*result);
  } else if (task->stop.stop_requested()) {
    task->state = State::cancelled;
  } else {
    task->state = State::failed;
    task->error = result.error();
  }
  tell(*task, states[static_cast<std::size_t>(task->state)]);
  forget_old();
}

bool Tasks::cancel(const std::string& name) {
  const std::lock_guard lock{mutex_};
  const auto found = std::find_if(known_.begin(), known_.end(), [&](const Known& t) { return t->name == name; });
  if (found == known_.end()) return false;
  const Known task = *found;
  task->stop.request_stop();
  if (task->state == State::waiting) {
    std::erase(waiting_, task);
    task->state = State::cancelled;
    task->job = nullptr;
    tell(*task, "cancelled");
  }
  return true;
}

std::string Tasks::json(const Task& t, bool with_result) {
  Json j;
  j["task"] = t.name;
  j["kind"] = t.kind;
  j["title"] = t.title;
  j["state"] = states[static_cast<std::size_t>(t.state)];
  j["share"] = rounded(t.share, 3);
  j["what"] = t.what;
  if (t.state == State::failed) j["error"] = {{"message", t.error.message}, {"where", t.error.where}};
  if (t.state == State::done && with_result) j["result"] = Json::parse(t.result);
  return j.dump(-1, ' ', false, Json::error_handler_t::replace);
}

std::optional<std::string> Tasks::json(const std::string& name) const {
  const std::lock_guard lock{mutex_};
  for (const Known& t : known_) {
    if (t->name == name) return json(*t, true);
  }
  return std::nullopt;
}

std::string Tasks::list_json() const {
  const std::lock_guard lock{mutex_};
  std::string all;
  for (auto t = known_.rbegin(); t != known_.rend(); ++t) all += (all.empty() ? "" : ",") + json(**t, false);
  return "{\"tasks\":[" + all + "]}";
}

void Tasks::tell(const Task& task, const char* event) { events_.tell(event, json(task, false)); }

}  // namespace calcant::desk
