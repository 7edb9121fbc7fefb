// Any bytes as the body of a request, and as the values of a query: whatever is asked of them is there in its range, or the
// whole is refused with a sentence and a place.
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstdlib>

#include "desk/fields.hpp"

namespace {

using calcant::desk::Fields;

void held(const calcant::Result<void>& finished) {
  if (!finished && (finished.error().message.empty() || finished.error().where.empty())) std::abort();
}

void ask_everything(Fields& f, int depth) {
  const auto number = f.number("number", -20, 50);
  const auto whole = f.whole("whole", 1, 7);
  const auto text = f.text("text", 12);
  const auto word = f.one_of("word", {"one", "another"});
  const auto date = f.date("date");
  const auto texts = f.texts("texts", 3, 5);
  if (f.has("wholes") && f.wholes("wholes", 4).size() > 4) std::abort();
  (void)f.truth("truth");
  (void)f.is_null("text");
  (void)f.required("needed", 8);
  if (depth > 0) {
    if (auto table = f.table("table")) {
      ask_everything(*table, depth - 1);
      held(table->finish());
    }
    if (auto tables = f.tables("tables", 3)) {
      if (tables->size() > 3) std::abort();
      for (Fields& one : *tables) ask_everything(one, depth - 1);
      for (Fields& one : *tables) held(one.finish());
    }
  }
  if (!f.finish()) return;
  // What was passed is what was asked for.
  if (number && !(*number >= -20 && *number <= 50)) std::abort();
  if (whole && (*whole < 1 || *whole > 7)) std::abort();
  if (text && text->size() > 12) std::abort();
  if (word && *word != "one" && *word != "another") std::abort();
  if (date && date->size() != 10) std::abort();
  if (texts && texts->size() > 3) std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text{reinterpret_cast<const char*>(data), size};
  if (auto body = Fields::of_body(text)) {
    ask_everything(*body, 2);
    held(body->finish());
  } else if (body.error().message.empty() || body.error().where != "body") {
    std::abort();
  }
  std::map<std::string, std::string, std::less<>> query;
  for (std::size_t at = 0; at < text.size() && query.size() < 20;) {
    const std::size_t end = std::min(text.find('&', at), text.size());
    const std::string_view one = text.substr(at, end - at);
    const std::size_t equals = std::min(one.find('='), one.size());
    query[std::string{one.substr(0, equals)}] = one.substr(std::min(equals + 1, one.size()));
    at = end + 1;
  }
  auto fields = Fields::of_query(query);
  ask_everything(fields, 0);
  held(fields.finish());
  return 0;
}
