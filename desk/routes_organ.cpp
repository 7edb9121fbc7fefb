#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "desk/routes.hpp"
#include "files/organfile/organfile.hpp"
#include "jobs/couplers.hpp"
#include "jobs/new_organ.hpp"
#include "jobs/organ_text.hpp"
#include "jobs/prepare.hpp"
#include "jobs/sha256.hpp"
#include "jobs/spec.hpp"
#include "jobs/text_file.hpp"

namespace calcant::desk {
namespace {

constexpr std::size_t text_limit = organ_file_limit;

Answer get_organ(Asking& a) {
  const Asked asked = asked_of(a.query, {"on", "temperature"});
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk, asked);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const OrganContext& c = (*organ)->context;
  Json j;
  j["specification"] = Json::parse(specification_json(c.organ, c.notes));
  j["printed"] = print_specification(c.organ);
  j["hash"] = (*organ)->hash;
  j["day"] = asked.on.value_or("");
  j["temperature"] = rounded(c.condition.air.temperature.value(), 2);
  j["allowed_for"] = faults_of_the_day(c);
  j["overruled"] = Json::array();
  for (const Overruled& o : c.overruled)
    j["overruled"].push_back(fmt::format("{}: {}, in place of {}", o.of, o.kept, o.lost));
  return json_answer(dump(j), **organ);
}

Answer get_figures(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  return json_answer(json_text(organ_figures((*organ)->context.organ)), **organ);
}

// The steps with what the book says was heard; `undo` where one was just answered.
Answer shown_couplers(Asking& a, const OpenOrgan& organ, const Json& undo) {
  std::vector<CouplerHeard> heard;
  std::error_code none;
  if (std::filesystem::exists(organ.context.folder / "organ.book", none)) {
    const auto book = a.desk.book(organ.context);
    if (!book) return why(500, book.error());
    auto all = book->couplers_heard();
    if (!all) return why(500, all.error());
    heard = std::move(*all);
  }
  Json j = Json::parse(json_text(coupler_steps(organ.context, heard)));
  if (!undo.is_null()) j["undo"] = undo;
  return json_answer(dump(j), organ);
}

Answer get_couplers(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  return shown_couplers(a, **organ, nullptr);
}

// One answer of the coupler test, at the console.
Answer post_coupler(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  CouplerHeard said;
  said.through = body->required("through");
  said.carried = body->required("carried");
  if (!body->has("heard")) body->fault("'heard' is missing.", "heard");
  said.heard = body->text_or("heard", "");
  said.date = body->date("on").value_or(a.desk.today());
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  const std::lock_guard lock{a.desk.changing()};
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  auto book = a.desk.book((*organ)->context);
  if (!book) return why(500, book.error());
  const auto before = book->couplers_heard();
  if (!before) return why(500, before.error());
  const auto heard = heard_in(coupler_steps((*organ)->context, *before), said);
  if (!heard) return why(422, heard.error());
  if (auto written = book->hear(*heard); !written) return why(500, written.error());
  Json back{{"through", said.through}, {"carried", said.carried}, {"heard", ""}};
  for (const CouplerHeard& h : *before) {
    if (h.through == said.through && h.carried == said.carried) back.update({{"heard", h.heard}, {"on", h.date}});
  }
  a.desk.changed({"organ"});
  const auto now = organ_of(a.desk);
  if (!now) return tl::unexpected<Why>(now.error());
  return shown_couplers(a, **now, undo_json("POST", "/api/couplers", back.dump()));
}

Answer get_file(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto text = read_text_file(a.desk.folder() / "organ.toml", text_limit);
  if (!text) return why(404, "There is no organ.toml in this folder yet.", "organ.toml");
  const auto checked = check_organ_text(a.desk.folder(), *text);
  Json j;
  j["text"] = *text;
  j["hash"] = sha256(*text);
  j["faults"] = Json::array();
  for (const Fault& f : checked.faults) j["faults"].push_back(fault_json(f));
  return json_answer(dump(j));
}

Answer put_file(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  const std::string text = body->required("text", text_limit);
  const auto from = body->text("hash");
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  const auto checked = check_organ_text(a.desk.folder(), text);
  if (!checked.faults.empty()) {
    return tl::unexpected<Why>(
        Why{422,
            {"organ.toml is not saved while it has faults; what is in the folder stays.", "organ.toml"},
            checked.faults});
  }
  const std::lock_guard lock{a.desk.changing()};
  const auto path = a.desk.folder() / "organ.toml";
  const auto before = read_text_file(path, text_limit);
  if (!before)
    return why(404, "There is no organ.toml in this folder yet; make one from a specification.", "organ.toml");
  if (from && *from != sha256(*before)) {
    return why(409, "organ.toml has been changed elsewhere meanwhile; look at it afresh before you save.", "hash");
  }
  if (auto put = write_text_file(path, text); !put) return why(500, put.error());
  a.desk.changed({"organ"});
  Json j;
  j["hash"] = sha256(text);
  j["notes"] = checked.notes;
  j["undo"] = undo_json("PUT", "/api/organ/file", Json{{"text", *before}, {"hash", sha256(text)}}.dump());
  return json_answer(dump(j));
}

Answer check_text(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  const std::string text = body->required("text", text_limit);
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  return json_answer(json_text(check_organ_text(a.desk.folder(), text)));
}

Json stop_json(const DraftStop& s) {
  Json j;
  j["name"] = s.name;
  std::string length;
  for (const Feet& f : s.feet) length += (length.empty() ? "" : " & ") + to_string(f);
  if (length.empty() && s.mixture_ranks > 0) length = fmt::format("{} ranks", s.mixture_ranks);
  j["length"] = length;
  if (s.from) j["from"] = name(*s.from);
  if (s.pipes) j["pipes"] = *s.pipes;
  if (!s.remark.empty()) j["remark"] = s.remark;
  j["prepared_for"] = s.prepared_for;
  j["line"] = s.line;
  return j;
}

std::string draft_json(const Draft& d) {
  Json j;
  j["title"] = d.title;
  j["divisions"] = Json::array();
  for (const DraftDivision& v : d.divisions) {
    Json dj;
    dj["name"] = v.name;
    dj["pedal"] = v.pedal;
    dj["enclosed"] = v.enclosed;
    dj["notes"] = v.notes ? Json(*v.notes) : Json(nullptr);
    dj["tremulant"] = v.tremulant;
    dj["stops"] = Json::array();
    for (const DraftStop& s : v.stops) dj["stops"].push_back(stop_json(s));
    j["divisions"].push_back(std::move(dj));
  }
  j["couplers"] = Json::array();
  for (const DraftCoupler& c : d.couplers) j["couplers"].push_back({{"name", c.name}, {"line", c.line}});
  j["accessories"] = d.accessories;
  if (d.manual_notes) j["manual_notes"] = *d.manual_notes;
  if (d.pedal_notes) j["pedal_notes"] = *d.pedal_notes;
  if (d.swell_pedal) j["swell_pedal"] = *d.swell_pedal == SwellPedal::lever ? "lever" : "balanced";
  j["unread"] = Json::array();
  for (const UnreadLine& u : d.unread) j["unread"].push_back({{"line", u.line}, {"text", u.text}});
  return dump(j);
}

Answer post_specification(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  const std::string text = body->required("text", specification_limit);
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  const auto draft = read_specification(text);
  if (!draft) return why(422, draft.error());
  return json_answer(draft_json(*draft));
}

SixAnswers answers_of(Fields& f) {
  SixAnswers out;
  out.manual_notes = f.whole("manual_notes", 12, 88);
  out.pedal_notes = f.whole("pedal_notes", 12, 37);
  out.from_tenor_c = f.texts("from_tenor_c", max_stops);
  out.couplers_carry = f.truth("couplers_carry");
  out.octaves_extended = f.truth("octaves_extended");
  if (const auto pedal = f.one_of("swell_pedal", {"lever", "balanced"})) {
    out.swell_pedal = *pedal == "lever" ? SwellPedal::lever : SwellPedal::balanced;
  }
  if (const auto hz = f.number("pitch_hz", 380, 500)) out.pitch = Hertz{*hz};
  if (const auto at = f.number("pitch_celsius", 0, 40)) out.pitch_at = Celsius{*at};
  if (const auto room = f.number("room_cubic_metres", 20, 500000)) out.room = CubicMetres{*room};
  return out;
}

Answer post_organ(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  const std::string text = body->required("text", specification_limit);
  SixAnswers answers;
  if (auto said = body->table("answers")) {
    answers = answers_of(*said);
    if (auto right = finished(*said); !right) return tl::unexpected<Why>(right.error());
  }
  const bool invented = body->truth("invented").value_or(false);
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  const auto draft = read_specification(text);
  if (!draft) return why(422, draft.error());
  const std::lock_guard lock{a.desk.changing()};
  std::error_code none;
  if (std::filesystem::exists(a.desk.folder() / "organ.toml", none)) {
    return why(409, "There is an organ in this folder already, and no program rewrites one; edit it as text.",
               "organ.toml");
  }
  auto made = new_organ(a.desk.folder(), *draft, answers, invented);
  if (!made) return why(422, made.error());
  made->file = made->file.filename();
  a.desk.changed({"organ"});
  return json_answer(json_text(*made), 201);
}

}  // namespace

std::vector<Route> organ_routes() {
  constexpr std::uint64_t text_body = std::uint64_t{3} << 20;  // a mebibyte of text, as JSON may have to write it
  return {{"GET", "/api/organ", get_organ},
          {"POST", "/api/organ", post_organ, Carries::json},
          {"GET", "/api/organ/figures", get_figures},
          {"GET", "/api/organ/file", get_file},
          {"PUT", "/api/organ/file", put_file, Carries::json, text_body},
          {"POST", "/api/organ/check", check_text, Carries::json, text_body},
          {"POST", "/api/specification", post_specification, Carries::json},
          {"GET", "/api/couplers", get_couplers},
          {"POST", "/api/couplers", post_coupler, Carries::json}};
}

}  // namespace calcant::desk
