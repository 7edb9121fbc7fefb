#include <charconv>

#include "desk/routes.hpp"

namespace calcant::desk {
namespace {

std::optional<std::uint64_t> event_id(std::string_view text) {
  std::uint64_t id = 0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), id);
  if (text.empty() || fault != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return id;
}

Answer get_events(Asking& a) {
  const auto after = a.query.text("after");
  if (after && !event_id(*after)) a.query.fault("'after' is the number of an event.", "after");
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  // A browser that comes back by itself says where it was.
  const auto last = event_id(a.request.head.header("last-event-id"));
  Response r;
  r.headers = {{"Content-Type", "text/event-stream"}, {"Cache-Control", "no-store"}};
  r.events = a.desk.events().open(last ? last : after ? event_id(*after) : std::nullopt);
  return r;
}

Answer get_tasks(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  return json_answer(a.desk.tasks().list_json());
}

Answer get_task(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  auto json = a.desk.tasks().json(a.part(0));
  if (!json) return why(404, "There is no such task (any more).", "task");
  return json_answer(std::move(*json));
}

Answer delete_task(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  if (!a.desk.tasks().cancel(a.part(0))) return why(404, "There is no such task (any more).", "task");
  return get_task(a);
}

}  // namespace

std::vector<Route> task_routes() {
  return {{"GET", "/api/events", get_events},
          {"GET", "/api/tasks", get_tasks},
          {"GET", "/api/tasks/{task}", get_task},
          {"DELETE", "/api/tasks/{task}", delete_task}};
}

}  // namespace calcant::desk
