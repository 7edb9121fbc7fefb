#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "desk/prepared.hpp"
#include "desk/routes.hpp"
#include "engine/organ/longest_draw.hpp"
#include "jobs/by_hand.hpp"
#include "jobs/fit.hpp"
#include "jobs/hymn_words.hpp"
#include "jobs/pieces.hpp"
#include "jobs/sha256.hpp"
#include "jobs/text_file.hpp"

namespace calcant::desk {
namespace {

constexpr std::uint64_t score_limit = std::uint64_t{32} << 20;

tl::expected<std::filesystem::path, Why> score_of(Asking& a) {
  auto file = piece_file(a.desk.folder(), a.part(0));
  if (!file) return why(404, file.error());
  return std::move(*file);
}

// What a piece was worked out from, in one hash: the bytes of its score, the organ, and what was changed by hand.
std::string made_from(const Desk& desk, const std::string& piece, const OpenOrgan& organ) {
  const auto bytes = read_text_file(desk.folder() / "music" / piece, score_limit);
  return sha256((bytes ? sha256(*bytes) : "") + organ.unmeasured + ByHand::of_piece(desk.folder(), piece).all());
}

Json piece_json(Desk& desk, const PieceFile& p) {
  Json j;
  j["name"] = p.name;
  j["title"] = p.title;
  j["musicxml"] = p.musicxml;
  const auto place = prepared_piece(desk, p.name);
  std::shared_ptr<const OpenOrgan> organ;
  if (is_prepared(place)) organ = desk.organ().value_or(nullptr);
  j["prepared"] = how_prepared(place, organ ? made_from(desk, p.name, *organ) : "", organ.get());
  if (!p.problem.empty()) j["problem"] = p.problem;
  return j;
}

Answer get_pieces(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  Json j;
  j["pieces"] = Json::array();
  for (const std::string& name : piece_names(a.desk.folder())) {
    j["pieces"].push_back(piece_json(a.desk, a.desk.piece(name)));
  }
  return json_answer(dump(j));
}

Answer post_piece(Asking& a) {
  const std::string typed = a.query.required("name");
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const std::lock_guard lock{a.desk.changing()};
  const auto piece = add_piece(a.desk.folder(), safe_name(typed), a.request.body);
  if (!piece) return why(422, piece.error());
  a.desk.changed({"pieces"});
  Json j;
  j["piece"] = piece_json(a.desk, *piece);
  j["remarks"] = piece->remarks;
  j["undo"] = undo_json("DELETE", "/api/pieces/" + piece->name);
  return json_answer(dump(j), 201);
}

Answer delete_piece(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  if (const auto file = score_of(a); !file) return tl::unexpected<Why>(file.error());
  const std::lock_guard lock{a.desk.changing()};
  if (const auto out = take_out_piece(a.desk.folder(), a.part(0)); !out) return why(409, out.error());
  a.desk.changed({"pieces"});
  Json j;
  j["done"] = fmt::format("{} was taken out; it is kept in removed/music/.", a.part(0));
  j["undo"] = undo_json("POST", fmt::format("/api/pieces/{}/restore", a.part(0)));
  return json_answer(dump(j));
}

Answer restore_piece(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const std::lock_guard lock{a.desk.changing()};
  if (const auto back = put_back_piece(a.desk.folder(), a.part(0)); !back) return why(404, back.error());
  a.desk.changed({"pieces"});
  Json j;
  j["done"] = fmt::format("{} is back.", a.part(0));
  j["undo"] = undo_json("DELETE", "/api/pieces/" + a.part(0));
  return json_answer(dump(j));
}

Answer get_score(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto file = score_of(a);
  if (!file) return tl::unexpected<Why>(file.error());
  auto xml = engravable(*file);
  if (!xml) return why(422, xml.error());
  return musicxml_answer(std::move(*xml), a.part(0));
}

std::optional<Bass> bass_of(Fields& fields) {
  const auto text = fields.one_of("bass", {"feet", "hands", "both"});
  if (!text) return std::nullopt;
  const auto bass = parse_bass(*text);
  return bass ? std::optional{*bass} : std::nullopt;
}

Answer get_fit(Asking& a) {
  ScoreRequest request;
  const std::string draw = a.query.text_or("draw", "", longest_draw);
  request.tempo = a.query.number("tempo", 10, 400);
  request.bass = bass_of(a.query);
  const Asked asked = asked_of(a.query, {"on"});
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto file = score_of(a);
  if (!file) return tl::unexpected<Why>(file.error());
  request.score = *file;
  const auto organ = organ_of(a.desk, asked);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const auto fit = fit_score((*organ)->context, request, draw);
  if (!fit) return why(422, fit.error());
  return json_answer(json_text((*organ)->context, *fit), **organ);
}

struct Pedalled {
  std::shared_ptr<const OpenOrgan> organ;
  FeetResult result;
  bool all = false;
};
tl::expected<Pedalled, Why> feet_of(Asking& a, bool pencilling) {
  ScoreRequest request;
  request.tempo = a.query.number("tempo", 10, 400);
  request.bass = bass_of(a.query);
  std::optional<FeetStyle> style;
  if (const auto text = a.query.one_of("style", {"legato", "toes", "left-foot-only", "simplified"})) {
    if (const auto parsed = parse_feet_style(*text)) style = *parsed;
  }
  const Asked asked = asked_of(a.query, {"on"});
  const bool all = pencilling && a.query.truth("all").value_or(false);
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto file = score_of(a);
  if (!file) return tl::unexpected<Why>(file.error());
  request.score = *file;
  auto organ = organ_of(a.desk, asked);
  if (!organ) return tl::unexpected<Why>(organ.error());
  auto feet = feet_of_score((*organ)->context, request, style);
  if (!feet) return why(422, feet.error());
  return Pedalled{std::move(*organ), std::move(*feet), all};
}

Answer get_feet(Asking& a) {
  const auto feet = feet_of(a, false);
  if (!feet) return tl::unexpected<Why>(feet.error());
  return json_answer(json_text(feet->organ->context, feet->result), *feet->organ);
}

Answer get_pencilling(Asking& a) {
  const auto feet = feet_of(a, true);
  if (!feet) return tl::unexpected<Why>(feet.error());
  auto marked = marked_feet(feet->result, feet->all);
  if (!marked) return why(422, marked.error());
  return musicxml_answer(std::move(*marked), "feet-" + std::filesystem::path{a.part(0)}.stem().string() + ".musicxml");
}

PrepareRequest wish_of(Fields& body) {
  PrepareRequest r;
  r.verses = body.whole("verses", 1, 60);
  r.bass = bass_of(body);
  r.tempo = body.number("tempo", 10, 400);
  r.words = body.texts("words", 60).value_or(std::vector<std::string>{});
  r.number = body.text("number");
  if (const auto over = body.one_of("play_over", {"first line", "last line", "both", "whole", "none"})) {
    if (const auto parsed = parse_play_over(*over)) r.play_over = *parsed;
  }
  r.singers = body.whole("singers", 1, 5000);
  r.never = body.texts("never", 60).value_or(std::vector<std::string>{});
  r.preview = body.truth("preview").value_or(true);
  return r;
}

Answer prepare_piece(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  PrepareRequest request = wish_of(*body);
  const Asked asked = asked_of(*body, {"on", "temperature", "at", "people"});
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  const auto file = score_of(a);
  if (!file) return tl::unexpected<Why>(file.error());
  if (const auto organ = organ_of(a.desk, asked); !organ) return tl::unexpected<Why>(organ.error());
  request.score = *file;
  const std::string piece = a.part(0);
  const auto task = a.desk.start("prepare", fmt::format("{} prepared", piece),
                                 [&desk = a.desk, piece, asked, request](const Work& work) -> Result<std::string> {
                                   const auto organ = desk.organ(asked);
                                   if (!organ) return tl::unexpected<Error>(organ.error());
                                   auto made =
                                       prepare_in_place(desk, (*organ)->context, request, prepared_piece(desk, piece),
                                                        made_from(desk, piece, **organ), work);
                                   if (made) desk.changed({"pieces"});
                                   return made;
                                 });
  if (!task) return why(503, task.error());
  return started(*task);
}

tl::expected<std::string, Why> made_file(Asking& a, const char* name) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  if (const auto file = score_of(a); !file) return tl::unexpected<Why>(file.error());
  return prepared_file(prepared_piece(a.desk, a.part(0)), name);
}

Answer get_sheet(Asking& a) {
  auto html = made_file(a, "cues.html");
  if (!html) return tl::unexpected<Why>(html.error());
  return sheet_answer(std::move(*html));
}

Answer get_plan(Asking& a) {
  auto plan = made_file(a, "plan.json");
  if (!plan) return tl::unexpected<Why>(plan.error());
  return json_answer(std::move(*plan));
}

Answer get_marked(Asking& a) {
  auto xml = made_file(a, "marked.musicxml");
  if (!xml) return tl::unexpected<Why>(xml.error());
  return musicxml_answer(std::move(*xml), "marked-" + std::filesystem::path{a.part(0)}.stem().string() + ".musicxml");
}

Answer get_preview(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  if (const auto file = score_of(a); !file) return tl::unexpected<Why>(file.error());
  return sound_answer(prepared_piece(a.desk, a.part(0)) / "preview.flac", a.request.head);
}

}  // namespace

std::vector<Route> piece_routes() {
  return {{"GET", "/api/pieces", get_pieces},
          {"POST", "/api/pieces", post_piece, Carries::bytes, score_limit},
          {"DELETE", "/api/pieces/{piece}", delete_piece},
          {"POST", "/api/pieces/{piece}/restore", restore_piece},
          {"GET", "/api/pieces/{piece}/score", get_score},
          {"GET", "/api/pieces/{piece}/fit", get_fit},
          {"GET", "/api/pieces/{piece}/feet", get_feet},
          {"GET", "/api/pieces/{piece}/pencilling", get_pencilling},
          {"POST", "/api/pieces/{piece}/prepare", prepare_piece, Carries::json},
          {"GET", "/api/pieces/{piece}/sheet", get_sheet},
          {"GET", "/api/pieces/{piece}/plan", get_plan},
          {"GET", "/api/pieces/{piece}/marked", get_marked},
          {"GET", "/api/pieces/{piece}/preview", get_preview}};
}

}  // namespace calcant::desk
