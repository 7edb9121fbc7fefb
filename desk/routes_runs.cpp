#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "desk/handed_over.hpp"
#include "desk/routes.hpp"
#include "desk/run_json.hpp"
#include "jobs/faults.hpp"
#include "jobs/measure.hpp"

namespace calcant::desk {
namespace {

namespace fs = std::filesystem;
constexpr std::uint64_t recording_limit = std::uint64_t{2} << 30;

Answer get_measuring(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  Json j;
  j["text"] = measuring_instructions();
  return json_answer(dump(j));
}

// One whose run is in the book was ended just before its note was crossed out.
std::vector<HandedOver> waiting(Desk& desk, const std::vector<Run>& runs) {
  auto all = not_finished(desk.folder() / recordings, desk.settings().run);
  std::erase_if(all, [&](const HandedOver& h) {
    return std::ranges::find(runs, h.request.recording.filename().string(), &Run::recording) != runs.end();
  });
  return all;
}

Json handed_json(const HandedOver& h) {
  Json j;
  j["recording"] = h.request.recording.filename().string();
  j["stop"] = h.request.stop;
  j["on"] = h.request.keep_on ? Json(*h.request.keep_on) : Json(nullptr);
  return j;
}

Answer get_runs(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const auto book = a.desk.book((*organ)->context);
  if (!book) return why(500, book.error());
  const auto runs = book->runs();
  if (!runs) return why(500, runs.error());
  const Organ& described = (*organ)->context.described;
  Json j;
  j["runs"] = Json::array();
  for (const Run& r : *runs) j["runs"].push_back(run_json(described, r));
  j["unfinished"] = Json::array();
  for (const HandedOver& h : waiting(a.desk, *runs)) j["unfinished"].push_back(handed_json(h));
  return json_answer(dump(j), **organ);
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

// What cannot be measured, or is not wanted any more, is not kept.
void forget(const fs::path& recording) {
  std::error_code none;
  fs::remove(recording, none);
  cross_out(recording);
}

Result<std::string> measured(Desk& desk, const HandedOver& handed, const Work& work) {
  const auto now = desk.organ();
  if (!now) return tl::unexpected<Error>(now.error());
  const auto m = measure_stop((*now)->context, handed.request, handed.temperature, work);
  if (!m) {
    // A desk that is closed in the middle finds it again when it is opened.
    if (!desk.tasks().stopping()) forget(handed.request.recording);
    return tl::unexpected<Error>(m.error());
  }
  cross_out(handed.request.recording);
  if (m->kept) desk.changed({"runs"});
  return json_text((*now)->context, *m);
}

Answer begin(Desk& desk, HandedOver handed) {
  if (auto noted = note_down(handed); !noted) return why(500, noted.error());
  const std::string title = fmt::format("{} measured", handed.request.stop);
  const auto task =
      desk.start("measure", title, [&desk, handed](const Work& work) { return measured(desk, handed, work); });
  if (task) return started(*task);
  handed.desk = 0;  // in nobody's hand: it waits to be asked for
  if (auto noted = note_down(handed); !noted) return why(500, noted.error());
  return why(503, task.error());
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
  HandedOver handed{request, celsius ? std::optional{Celsius{*celsius}} : std::nullopt, a.desk.settings().run};
  return begin(a.desk, std::move(handed));
}

// What an earlier run of the desk had in hand and did not end, by its recording's name.
tl::expected<HandedOver, Why> left_over(Asking& a) {
  for (HandedOver& h : not_finished(a.desk.folder() / recordings, a.desk.settings().run)) {
    if (h.request.recording.filename() == a.part(0)) return std::move(h);
  }
  return why(404, "No recording of this name waits to be measured.", "recording");
}

Answer post_unfinished(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const std::lock_guard lock{a.desk.changing()};
  auto handed = left_over(a);
  if (!handed) return tl::unexpected<Why>(handed.error());
  handed->desk = a.desk.settings().run;
  return begin(a.desk, std::move(*handed));
}

Answer delete_unfinished(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const std::lock_guard lock{a.desk.changing()};
  const auto handed = left_over(a);
  if (!handed) return tl::unexpected<Why>(handed.error());
  forget(handed->request.recording);
  a.desk.changed({"runs"});
  Json j;
  j["done"] = fmt::format("{} was thrown away.", a.part(0));
  return json_answer(dump(j));
}

}  // namespace

std::vector<Route> run_routes() {
  return {{"GET", "/api/measuring", get_measuring},
          {"GET", "/api/runs", get_runs},
          {"POST", "/api/runs", post_run, Carries::bytes, recording_limit, "recordings"},
          {"POST", "/api/unfinished/{recording}", post_unfinished},
          {"DELETE", "/api/unfinished/{recording}", delete_unfinished}};
}

}  // namespace calcant::desk
