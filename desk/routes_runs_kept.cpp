#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "desk/routes.hpp"
#include "desk/run_json.hpp"
#include "jobs/corrected_run.hpp"
#include "jobs/faults.hpp"
#include "jobs/kept_measurings.hpp"

namespace calcant::desk {

Json run_json(const Organ& organ, const Run& r) {
  Json j;
  j["id"] = r.id;
  j["stop"] = r.stop;
  const auto stop = stop_by_id(organ, r.stop);
  j["name"] = stop ? full_name(organ.stops[static_cast<std::size_t>(*stop)]) : r.stop;
  j["date"] = r.date;
  j["celsius"] = r.temperature ? Json(rounded(r.temperature->value(), 2)) : Json(nullptr);
  j["place"] = r.place;
  j["close"] = r.close;
  j["recording"] = r.recording;
  j["remark"] = r.remark;
  return j;
}

namespace {

namespace fs = std::filesystem;
constexpr std::size_t most_corrections = 1000;

template <class T>
Json or_null(const std::optional<T>& v, int places) {
  if (!v) return nullptr;
  if constexpr (std::is_same_v<T, double>) return rounded(*v, places);
  else return rounded(v->value(), places);
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

struct OpenBook {
  std::shared_ptr<const OpenOrgan> organ;
  Book book;
};
tl::expected<OpenBook, Why> open(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  auto book = a.desk.book((*organ)->context);
  if (!book) return why(500, book.error());
  return OpenBook{std::move(*organ), std::move(*book)};
}

tl::expected<Run, Why> known_run(const OpenBook& o, std::int64_t id) {
  const auto runs = o.book.runs();
  if (!runs) return why(500, runs.error());
  for (const Run& r : *runs) {
    if (r.id == id) return r;
  }
  return why(404, fmt::format("There is no run {} in the book.", id), "id");
}

// The run in the address, with the book it stands in.
struct RunAsked {
  OpenBook in;
  Run run;
};
tl::expected<RunAsked, Why> asked_run(Asking& a) {
  const auto id = entry_id(a);
  if (!id) return tl::unexpected<Why>(id.error());
  auto o = open(a);
  if (!o) return tl::unexpected<Why>(o.error());
  auto run = known_run(*o, *id);
  if (!run) return tl::unexpected<Why>(run.error());
  return RunAsked{std::move(*o), std::move(*run)};
}

fs::path recording_of(const Desk& desk, const Run& run) {
  return desk.folder() / recordings / fs::path{run.recording}.filename();
}

Answer get_run(Asking& a) {
  const auto r = asked_run(a);
  if (!r) return tl::unexpected<Why>(r.error());
  const auto notes = r->in.book.notes(r->run.id);
  if (!notes) return why(500, notes.error());
  Json j;
  j["run"] = run_json(r->in.organ->context.described, r->run);
  j["notes"] = Json::array();
  std::vector<MeasuredNote> measured;
  for (const RunNote& n : *notes) {
    j["notes"].push_back(note_json(n));
    measured.push_back(measured_note(n, static_cast<int>(measured.size())));
  }
  j["findings"] = findings_json(findings(measured));
  return json_answer(dump(j), *r->in.organ);
}

Answer get_recording(Asking& a) {
  const auto r = asked_run(a);
  if (!r) return tl::unexpected<Why>(r.error());
  const fs::path path = recording_of(a.desk, r->run);
  if (const auto here = still_there(r->run, path); !here) return why(404, here.error());
  const std::string ending = path.extension().string();
  const std::string_view type = ending == ".flac"                       ? "audio/flac"
                                : ending == ".ogg"                      ? "audio/ogg"
                                : ending == ".aif" || ending == ".aiff" ? "audio/aiff"
                                                                        : "audio/wav";
  return sound_answer(path, a.request.head, type);
}

Answer get_decisions(Asking& a) {
  const auto r = asked_run(a);
  if (!r) return tl::unexpected<Why>(r.error());
  const OrganContext& context = r->in.organ->context;
  const auto cut = cut_up(context, r->in.book, r->run.id);
  if (!cut) return why(409, cut.error());
  const bool here = still_there(r->run, recording_of(a.desk, r->run)).has_value();
  return json_answer(json_text(context, *cut, here), *r->in.organ);
}

// A decision as it is sent: what, and midi, from_s, to_s where they apply.
Result<Decision> decision_of(Fields& f) {
  Decision d;
  const auto what =
      f.one_of("what", {"speaks", "dead", "unsure", "wrong", "cipher", "nothing", "repeat", "false start"});
  const auto midi = f.whole("midi", 0, 127);
  const auto from = f.number("from_s", 0, 86400);
  const auto to = f.number("to_s", 0, 86400);
  const auto heard = f.whole("heard_midi", 0, 127);
  if (!what) f.fault("Each decision says what it is.", "what");
  const auto state = what ? note_state(*what) : std::nullopt;
  if (state && !midi) f.fault(fmt::format("Which key {}?", *what), "midi");
  if (auto right = f.finish(); !right) return tl::unexpected<Error>(right.error());
  if (state) d.state = *state;
  else d.extra = *what == "repeat" ? Extra::repeat : *what == "false start" ? Extra::false_start : Extra::other;
  if (midi) d.key = Note{*midi};
  if (from) d.from = Seconds{*from};
  if (to) d.to = Seconds{*to};
  if (heard && state == NoteState::wrong) d.heard = Note{*heard};
  return d;
}

// What takes a correction back: what was decided before it, about what is there since.
Json undo_of(const CutUp& before, const std::string& version) {
  Json body;
  body["version"] = version;
  body["by_hand"] = Json::array();
  for (const Decision& d : by_hand(before.decisions)) body["by_hand"].push_back(decision_json(d));
  return undo_json("POST", fmt::format("/api/runs/{}/decisions", before.run.id), body.dump());
}

Result<std::string> corrected(Desk& desk, const Correction& correction, const Work& work) {
  const auto now = desk.organ();
  if (!now) return tl::unexpected<Error>(now.error());
  const OrganContext& context = (*now)->context;
  auto book = desk.book(context);
  if (!book) return tl::unexpected<Error>(book.error());
  const auto before = cut_up(context, *book, correction.run);
  if (!before) return tl::unexpected<Error>(before.error());
  const auto measured = correct_run(context, correction, work);
  if (!measured) return tl::unexpected<Error>(measured.error());
  desk.changed({"runs"});
  const auto after = cut_up(context, *book, correction.run);
  if (!after) return tl::unexpected<Error>(after.error());
  Json j = Json::parse(json_text(context, *measured));
  j["undo"] = undo_of(*before, after->version);
  return dump(j);
}

Answer post_decisions(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  Correction correction;
  correction.version = body->required("version", 64);
  auto by_hand = body->tables("by_hand", most_corrections);
  if (!by_hand) body->fault("'by_hand' is a list of decisions.", "by_hand");
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  for (Fields& f : *by_hand) {
    auto d = decision_of(f);
    if (!d) return why(400, d.error());
    correction.by_hand.push_back(*d);
  }
  const auto r = asked_run(a);
  if (!r) return tl::unexpected<Why>(r.error());
  correction.run = r->run.id;
  correction.recording = recording_of(a.desk, r->run);
  // What would be refused after minutes is refused at once.
  if (const auto right = correctable(r->in.organ->context, r->in.book, correction); !right)
    return why(409, right.error());
  const auto task =
      a.desk.start("measure", fmt::format("Run {} corrected", r->run.id),
                   [&desk = a.desk, correction](const Work& work) { return corrected(desk, correction, work); });
  if (!task) return why(503, task.error());
  return started(*task);
}

Answer get_compared(Asking& a) {
  const auto r = asked_run(a);
  if (!r) return tl::unexpected<Why>(r.error());
  const auto before = entry_id(a, 1);
  if (!before) return tl::unexpected<Why>(before.error());
  const auto known = known_run(r->in, *before);
  if (!known) return tl::unexpected<Why>(known.error());
  const auto compared = compare_runs(r->in.organ->context, *before, r->run.id);
  if (!compared) return why(422, compared.error());
  return json_answer(json_text(r->in.organ->context, *compared), *r->in.organ);
}

Answer get_run_page(Asking& a) {
  const auto r = asked_run(a);
  if (!r) return tl::unexpected<Why>(r.error());
  const auto page = page_of_runs(r->in.organ->context, {r->run.id}, "");
  if (!page) return why(409, page.error());
  return sheet_answer(page->html);
}

Answer get_builder_page(Asking& a) {
  const auto o = open(a);
  if (!o) return tl::unexpected<Why>(o.error());
  const auto page = page_of_runs(o->organ->context, {}, "");
  if (!page) return why(404, "The book holds no run yet: a recording handed over on The pipes makes the first.");
  return sheet_answer(page->html);
}

}  // namespace

std::vector<Route> kept_run_routes() {
  return {{"GET", "/api/runs/{id}", get_run},
          {"GET", "/api/runs/{id}/recording", get_recording},
          {"GET", "/api/runs/{id}/decisions", get_decisions},
          {"POST", "/api/runs/{id}/decisions", post_decisions, Carries::json},
          {"GET", "/api/runs/{id}/compare/{before}", get_compared},
          {"GET", "/api/runs/{id}/page", get_run_page},
          {"GET", "/api/builder-page", get_builder_page}};
}

}  // namespace calcant::desk
