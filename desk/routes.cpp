#include "desk/routes.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <nlohmann/json.hpp>

#include "files/organfile/organfile.hpp"
#include "jobs/organ_text.hpp"
#include "jobs/text_file.hpp"

namespace calcant::desk {
namespace {

std::vector<std::string_view> split(std::string_view path) {
  std::vector<std::string_view> out;
  path.remove_prefix(1);
  while (!path.empty()) {
    const std::size_t end = std::min(path.find('/'), path.size());
    out.push_back(path.substr(0, end));
    path.remove_prefix(std::min(end + 1, path.size()));
  }
  return out;
}

// What the command line calls --draw, a page calls draw.
std::string as_member(std::string where) {
  if (where.starts_with("--")) where.erase(0, 2);
  return where;
}

struct Range {
  std::uint64_t from = 0;
  std::uint64_t length = 0;
};
// "bytes=0-499", "bytes=500-", "bytes=-500"; nothing where it is not one range of bytes. length 0: not in the file.
std::optional<Range> parse_range(std::string_view header, std::uint64_t size) {
  constexpr std::string_view unit = "bytes=";
  if (!header.starts_with(unit)) return std::nullopt;
  header.remove_prefix(unit.size());
  const std::size_t dash = header.find('-');
  if (dash == std::string_view::npos) return std::nullopt;
  const auto read = [](std::string_view text) -> std::optional<std::uint64_t> {
    std::uint64_t n = 0;
    const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), n);
    if (fault != std::errc{} || end != text.data() + text.size()) return std::nullopt;
    return n;
  };
  const auto first = read(header.substr(0, dash));
  const auto last = read(header.substr(dash + 1));
  if (!first && dash == 0 && last) {
    const std::uint64_t tail = std::min(*last, size);
    return Range{size - tail, tail};
  }
  if (!first || (!last && dash + 1 != header.size()) || (last && *last < *first)) return std::nullopt;
  if (*first >= size) return Range{size, 0};
  return Range{*first, std::min(last.value_or(size - 1), size - 1) - *first + 1};
}

}  // namespace

Routes::Routes() {
  for (auto& group : {desk_routes(), organ_routes(), fault_routes(), service_routes(), change_routes(),
                      choosing_routes(), wish_routes(), saved_routes(), trial_routes(), hearing_routes(),
                      piece_routes(), run_routes(), kept_run_routes(), task_routes()}) {
    routes_.insert(routes_.end(), group.begin(), group.end());
  }
}

Routes::Found Routes::find(std::string_view method, const std::vector<std::string>& path) const {
  Found found;
  for (const Route& r : routes_) {
    const auto pattern = split(r.path);
    if (pattern.size() != path.size()) continue;
    std::vector<std::string> parts;
    bool fits = true;
    for (std::size_t i = 0; i < path.size() && fits; ++i) {
      if (pattern[i].starts_with('{')) parts.push_back(path[i]);
      else fits = pattern[i] == path[i];
    }
    if (!fits) continue;
    if (r.method == method || (method == "HEAD" && r.method == "GET")) return {&r, false, std::move(parts)};
    found.other_method = true;
  }
  return found;
}

tl::unexpected<Why> why(int status, std::string message, std::string where) {
  return tl::unexpected<Why>(Why{status, {std::move(message), std::move(where)}});
}

tl::unexpected<Why> why(int status, const Error& error) { return why(status, error.message, as_member(error.where)); }

Response json_answer(std::string json, int status) {
  Response r;
  r.status = status;
  r.headers = {{"Content-Type", "application/json"}, {"Cache-Control", "no-store"}};
  r.body = std::move(json);
  return r;
}

Response json_answer(std::string json, const OpenOrgan& organ, int status) {
  Response r = json_answer(std::move(json), status);
  r.headers.emplace_back("Calcant-Organ", organ.hash);
  return r;
}

Response sheet_answer(std::string html) {
  Response r;
  r.headers = {{"Content-Type", "text/html; charset=utf-8"},
               {"Cache-Control", "no-store"},
               {"Content-Security-Policy", sheet_policy(html)}};
  r.body = std::move(html);
  return r;
}

Response musicxml_answer(std::string xml, const std::string& name) {
  Response r;
  r.headers = {{"Content-Type", "application/vnd.recordare.musicxml+xml"},
               {"Cache-Control", "no-store"},
               {"Content-Disposition", fmt::format("attachment; filename=\"{}\"", safe_name(name))}};
  r.body = std::move(xml);
  return r;
}

Response started(const std::string& task) {
  Json j;
  j["task"] = task;
  return json_answer(dump(j), 202);
}

Answer sound_answer(const std::filesystem::path& path, const Head& head, std::string_view type) {
  std::error_code fault;
  const std::uint64_t size = std::filesystem::file_size(path, fault);
  if (fault) return why(404, "This sound is not here (any more); make it again.", "sound");
  Response r;
  r.headers = {{"Content-Type", std::string{type}}, {"Cache-Control", "no-store"}, {"Accept-Ranges", "bytes"}};
  const auto range = parse_range(head.header("range"), size);
  if (range && range->length == 0) {
    auto no = refusal_answer({416, {fmt::format("The sound has {} bytes.", size), "Range"}});
    no.headers.emplace_back("Content-Range", fmt::format("bytes */{}", size));
    return no;
  }
  r.file = Response::FilePart{path, 0, size};
  if (range) {
    r.status = 206;
    r.file = Response::FilePart{path, range->from, range->length};
    r.headers.emplace_back("Content-Range",
                           fmt::format("bytes {}-{}/{}", range->from, range->from + range->length - 1, size));
  }
  return r;
}

Response refusal_answer(const Why& w) {
  Json j;
  j["error"] = {{"message", w.error.message}, {"where", w.error.where}};
  if (!w.faults.empty()) {
    j["error"]["faults"] = Json::array();
    for (const Fault& f : w.faults) j["error"]["faults"].push_back(fault_json(f));
  }
  return json_answer(dump(j), w.status);
}

tl::expected<Fields, Why> body_of(const Asking& asking) {
  auto fields = Fields::of_body(asking.request.body);
  if (!fields) return why(400, fields.error());
  return std::move(*fields);
}

tl::expected<void, Why> finished(Fields& fields) {
  if (const auto right = fields.finish(); !right) return why(400, right.error());
  return {};
}

Asked asked_of(Fields& fields, std::initializer_list<std::string_view> names) {
  const auto has = [names](std::string_view name) {
    return std::find(names.begin(), names.end(), name) != names.end();
  };
  Asked asked;
  if (has("on")) asked.on = fields.date("on");
  if (has("temperature")) {
    if (const auto t = fields.number("temperature", -20, 50)) asked.temperature = Celsius{*t};
  }
  if (has("at")) asked.place = fields.one_of("at", {"nave", "bench"}) == "bench" ? PlaceKind::bench : PlaceKind::nave;
  if (has("people")) {
    const auto people = fields.one_of("people", {"empty", "half", "full"});
    asked.people = people == "half" ? People::half : people == "full" ? People::full : People::empty;
  }
  return asked;
}

tl::expected<std::shared_ptr<const OpenOrgan>, Why> organ_of(Desk& desk, const Asked& asked) {
  auto organ = desk.organ(asked);
  if (organ) return std::move(*organ);
  Why no{409, organ.error()};
  if (const auto text = read_text_file(desk.folder() / "organ.toml", organ_file_limit)) {
    no.faults = check_organ_text(desk.folder(), *text).faults;
  }
  return tl::unexpected<Why>(std::move(no));
}

tl::expected<std::int64_t, Why> entry_id(const Asking& asking, std::size_t part) {
  const std::string& text = asking.part(part);
  std::int64_t id = 0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), id);
  if (fault != std::errc{} || end != text.data() + text.size() || id < 1) {
    return why(404, "There is no such entry in the book.", "id");
  }
  return id;
}

Json undo_json(std::string_view method, const std::string& path, std::string_view body) {
  Json j;
  j["method"] = method;
  j["path"] = path;
  if (!body.empty()) j["body"] = Json::parse(body);
  return j;
}

}  // namespace calcant::desk
