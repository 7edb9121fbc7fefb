#include "desk/events.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace calcant::desk {

void EventStream::push(std::string_view text) {
  std::function<void()> wake;
  {
    const std::lock_guard lock{mutex_};
    if (closed_) return;
    waiting_ += text;
    closed_ = waiting_.size() > most_waiting;
    wake = wake_;
  }
  if (wake) wake();
}

void EventStream::close() {
  std::function<void()> wake;
  {
    const std::lock_guard lock{mutex_};
    closed_ = true;
    wake = wake_;
  }
  if (wake) wake();
}

std::string EventStream::take() {
  const std::lock_guard lock{mutex_};
  return std::exchange(waiting_, {});
}

bool EventStream::closed() const {
  const std::lock_guard lock{mutex_};
  return closed_;
}

void EventStream::when_ready(std::function<void()> wake) {
  bool now = false;
  {
    const std::lock_guard lock{mutex_};
    wake_ = wake;
    now = !waiting_.empty() || closed_;
  }
  if (now && wake) wake();
}

void Events::tell(std::string_view event, std::string_view data) {
  const std::lock_guard lock{mutex_};
  const std::uint64_t id = next_++;
  kept_.push_back({id, fmt::format("id: {}\nevent: {}\ndata: {}\n\n", id, event, data)});
  if (kept_.size() > most_kept) kept_.pop_front();
  std::erase_if(streams_, [](const auto& s) { return s.expired(); });
  for (const auto& weak : streams_) {
    if (const auto stream = weak.lock()) stream->push(kept_.back().text);
  }
}

std::shared_ptr<EventStream> Events::open(std::optional<std::uint64_t> after) {
  const auto stream = std::make_shared<EventStream>();
  const std::lock_guard lock{mutex_};
  stream->push("retry: 2000\n\n");
  if (after) {
    const std::uint64_t oldest = kept_.empty() ? next_ : kept_.front().id;
    // Nothing was told before first_, so a tab of this run that has seen nothing yet may begin there.
    const bool known = *after + 1 >= oldest && *after < next_ && *after + 1 >= first_;
    if (!known) stream->push(fmt::format("id: {}\nevent: again\ndata: {{}}\n\n", next_ - 1));
    for (const Kept& k : kept_) {
      if (known && k.id > *after) stream->push(k.text);
    }
  } else {
    // An id without data sets where the tab stands and is no event.
    stream->push(fmt::format("id: {}\n\n", next_ - 1));
  }
  streams_.push_back(stream);
  return stream;
}

void Events::close_all() {
  const std::lock_guard lock{mutex_};
  for (const auto& weak : streams_) {
    if (const auto stream = weak.lock()) stream->close();
  }
  streams_.clear();
}

}  // namespace calcant::desk
