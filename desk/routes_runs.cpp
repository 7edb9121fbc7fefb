#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "desk/routes.hpp"
#include "jobs/faults.hpp"
#include "jobs/measure.hpp"

namespace calcant::desk {
namespace {

namespace fs = std::filesystem;
constexpr std::uint64_t recording_limit = std::uint64_t{2} << 30;
constexpr std::string_view recordings = "recordings";

template <class T>
Json or_null(const std::optional<T>& v, int places) {
  if (!v) return nullptr;
  if constexpr (std::is_same_v<T, double>) return rounded(*v, places);
  else return rounded(v->value(), places);
}

Json run_json(const Organ& organ, const Run& r) {
  Json j;
  j["id"] = r.id;
  j["stop"] = r.stop;
  const auto stop = stop_by_id(organ, r.stop);
  j["name"] = stop ? full_name(organ.stops[static_cast<std::size_t>(*stop)]) : r.stop;
  j["date"] = r.date;
  j["celsius"] = or_null(r.temperature, 2);
  j["place"] = r.place;
  j["close"] = r.close;
  j["recording"] = r.recording;
  j["remark"] = r.remark;
  return j;
}

Json note_json(const RunNote& n) {
  Json j;
  j["midi"] = n.key.midi;
  j["note"] = name(n.key);
  j["rank"] = n.rank;
  j["pipe"] = n.pipe;
  j["state"] = n.state;
  j["start_s"] = or_null(n.start_s, 3);
  j["hz"] = or_null(n.hz, 5);
  j["cents"] = or_null(n.cents, 3);
  j["cents_95"] = or_null(n.cents_95, 3);
  j["in_run_cents"] = or_null(n.cents_in_run, 3);
  j["in_run_cents_95"] = or_null(n.cents_in_run_95, 3);
  j["ruled_by"] = n.ruled_by;
  j["rise_ms"] = or_null(n.rise_ms, 1);
  j["speech_ms"] = or_null(n.speech_ms, 1);
  j["room_limited"] = n.room_limited;
  j["level_db"] = or_null(n.level, 2);
  j["level_db_95"] = or_null(n.level_95, 2);
  j["pipes_heard"] = n.pipes_heard;
  j["harmonics_db"] = n.harmonics_db;
  return j;
}

Answer get_measuring(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  Json j;
  j["text"] = measuring_instructions();
  return json_answer(dump(j));
}

Answer get_runs(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const auto book = a.desk.book((*organ)->context);
  if (!book) return why(500, book.error());
  const auto runs = book->runs();
  if (!runs) return why(500, runs.error());
  Json j;
  j["runs"] = Json::array();
  for (const Run& r : *runs) j["runs"].push_back(run_json((*organ)->context.described, r));
  return json_answer(dump(j), **organ);
}

Answer get_run(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto id = entry_id(a);
  if (!id) return tl::unexpected<Why>(id.error());
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const auto book = a.desk.book((*organ)->context);
  if (!book) return why(500, book.error());
  const auto runs = book->runs();
  if (!runs) return why(500, runs.error());
  for (const Run& r : *runs) {
    if (r.id != *id) continue;
    const auto notes = book->notes(r.id);
    if (!notes) return why(500, notes.error());
    Json j;
    j["run"] = run_json((*organ)->context.described, r);
    j["notes"] = Json::array();
    for (const RunNote& n : *notes) j["notes"].push_back(note_json(n));
    return json_answer(dump(j), **organ);
  }
  return why(404, fmt::format("There is no run {} in the book.", *id), "id");
}

// The recording under its own name, or with a number behind where that is taken.
Result<fs::path> keep_recording(const fs::path& folder, const fs::path& upload, const std::string& name) {
  const fs::path wanted{name};
  std::error_code fault;
  fs::path path = folder / wanted;
  for (int n = 2; fs::exists(path, fault); ++n) {
    path = folder / fmt::format("{}-{}{}", wanted.stem().string(), n, wanted.extension().string());
  }
  fs::rename(upload, path, fault);
  if (fault) return fail(fmt::format("The recording cannot be kept: {}.", fault.message()), name);
  fs::permissions(path, fs::perms::owner_read | fs::perms::owner_write | fs::perms::group_read | fs::perms::others_read,
                  fault);
  return path;
}

Answer post_run(Asking& a) {
  const std::string file = safe_name(a.query.required("name"));
  MeasureRequest request;
  request.stop = a.query.required("stop");
  request.sides = a.query.one_of("order", {"chromatic", "sides"}) == "sides";
  request.close = a.query.truth("close").value_or(false);
  request.place = a.query.text_or("place", "");
  const bool keep = a.query.truth("keep").value_or(false);
  const auto on = a.query.date("on");
  const auto celsius = a.query.number("temperature", -20, 50);
  if (file.empty()) a.query.fault("'name' is the name of the recording.", "name");
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  if (keep) request.keep_on = on.value_or(a.desk.today());
  {
    const std::lock_guard lock{a.desk.changing()};
    const auto kept = keep_recording(a.desk.folder() / recordings, a.request.upload, file);
    if (!kept) return why(500, kept.error());
    request.recording = *kept;
  }
  const std::optional<Celsius> temperature = celsius ? std::optional{Celsius{*celsius}} : std::nullopt;
  const auto task = a.desk.start("measure", fmt::format("{} measured", request.stop),
                                 [&desk = a.desk, request, temperature](const Work& work) -> Result<std::string> {
                                   const auto now = desk.organ();
                                   if (!now) return tl::unexpected<Error>(now.error());
                                   const auto measured = measure_stop((*now)->context, request, temperature, work);
                                   if (!measured) {
                                     // What cannot be measured, or is not wanted any more, is not kept.
                                     std::error_code none;
                                     fs::remove(request.recording, none);
                                     return tl::unexpected<Error>(measured.error());
                                   }
                                   if (measured->kept) desk.changed({"runs"});
                                   return json_text((*now)->context, *measured);
                                 });
  if (!task) return why(503, task.error());
  return started(*task);
}

}  // namespace

std::vector<Route> run_routes() {
  return {{"GET", "/api/measuring", get_measuring},
          {"GET", "/api/runs", get_runs},
          {"POST", "/api/runs", post_run, Carries::bytes, recording_limit, recordings},
          {"GET", "/api/runs/{id}", get_run}};
}

}  // namespace calcant::desk
