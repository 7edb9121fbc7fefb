// What the desk tells its open tabs: one stream of server-sent events each (HTML Living Standard, section 9.2).
#pragma once

#include <cstdint>
#include <deque>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace calcant::desk {

// Text on its way to one tab. Anything may be said from any thread; the server takes it and sends it.
class EventStream {
 public:
  // A tab that does not take what it is told is given up at this many waiting bytes.
  static constexpr std::size_t most_waiting = std::size_t{1} << 20;

  void push(std::string_view text);
  void close();

  // The server's side: all that waits, whether more may come, and a call when there is something (at once, when there is).
  [[nodiscard]] std::string take();
  [[nodiscard]] bool closed() const;
  void when_ready(std::function<void()> wake);

 private:
  mutable std::mutex mutex_;
  std::string waiting_;
  bool closed_ = false;
  std::function<void()> wake_;
};

// All streams, and the last events for a tab that comes back.
class Events {
 public:
  // Events are numbered from first_id up. It is above every number of an earlier run (made from the clock), so that a tab
  // that comes back after a restart is not told half of another run.
  explicit Events(std::uint64_t first_id) : next_(first_id), first_(first_id) {}

  // data: one line (JSON).
  void tell(std::string_view event, std::string_view data);
  // after: the last event the tab has seen. Where what came since is no longer known, it is told "again".
  [[nodiscard]] std::shared_ptr<EventStream> open(std::optional<std::uint64_t> after);
  void close_all();

 private:
  static constexpr std::size_t most_kept = 512;
  struct Kept {
    std::uint64_t id;
    std::string text;
  };
  std::mutex mutex_;
  std::uint64_t next_;
  std::uint64_t first_;
  std::deque<Kept> kept_;
  std::vector<std::weak_ptr<EventStream>> streams_;
};

}  // namespace calcant::desk
