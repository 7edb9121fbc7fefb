#include "jobs/fit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "engine/playing/copy_words.hpp"
#include "engine/playing/manuals.hpp"
#include "files/words/words.hpp"
#include "jobs/asked_score.hpp"
#include "jobs/json.hpp"
#include "jobs/saved.hpp"

namespace calcant {
namespace {

Json staves_json(const Organ& organ, const FitResult& f) {
  Json j = Json::array();
  for (std::size_t i = 0; i < f.read.score.staves.size(); ++i) {
    const Stave& s = f.read.score.staves[i];
    Json o;
    o["stave"] = i + 1;
    o["name"] = s.name;
    o["player"] = word(s.role);
    o["player_reason"] = s.role_reason;
    if (i < f.fit.staves.size() && f.fit.staves[i].keyboard) {
      o["keyboard"] = organ.keyboards[static_cast<std::size_t>(*f.fit.staves[i].keyboard)].id;
      o["keyboard_reason"] = f.fit.staves[i].reason;
    }
    j.push_back(std::move(o));
  }
  return j;
}

}  // namespace

Result<FitResult> fit_score(const OrganContext& context, const ScoreRequest& request, const std::string& draw) {
  FitResult out;
  FitWishes wishes;
  if (!draw.empty()) {
    const auto drawn = drawn_registration(context, draw);
    if (!drawn) return fail(drawn.error().message, "--draw");
    out.drawn = wishes.drawn = *drawn;
  }
  auto asked = read_asked(context, request);
  if (!asked) return tl::unexpected(asked.error());
  const auto player = player_of(context);
  if (!player) return tl::unexpected(player.error());
  const Score& score = asked->read.score;
  const Tempo tempo{score, assumed_tempo, request.tempo};
  wishes.keyboards = asked->keyboards;
  out.fit = fit(score, context.organ, *player, tempo, wishes);
  if (tempo.assumed()) {
    out.fit.remarks.push_back(
        fmt::format("No tempo was given: {:g} crotchets a minute are assumed (--tempo).", assumed_tempo));
  }
  out.read = std::move(asked->read);
  return out;
}

std::string json_text(const OrganContext& context, const FitResult& f) {
  Json j;
  j["organ"] = context.organ.id;
  j["score"] = f.read.score.title;
  j["fits"] = f.fit.fits;
  j["findings"] = Json::array();
  for (const FitFinding& one : f.fit.findings) {
    Json o;
    o["kind"] = word(one.kind);
    o["moment"] = moment_json(one.moment);
    if (!one.also_at.empty()) {
      o["also_at"] = Json::array();
      for (const Moment& m : one.also_at) o["also_at"].push_back(moment_json(m));
    }
    o["note"] = one.note ? Json(name(*one.note)) : Json(nullptr);
    if (one.note) o["midi"] = one.note->midi;
    o["times"] = one.times;
    o["hinders"] = one.hinders;
    if (one.if_drawn) o["if_drawn"] = true;
    o["message"] = one.message;
    o["remedies"] = one.remedies;
    j["findings"].push_back(std::move(o));
  }
  j["staves"] = staves_json(context.organ, f);
  j["manuals"] = {{"wanted", f.fit.manuals}, {"present", Json::array()}};
  for (const KeyboardIndex k : manuals(context.organ)) {
    j["manuals"]["present"].push_back(context.organ.keyboards[static_cast<std::size_t>(k)].name);
  }
  j["copy"] = Json::array();
  for (const CopyWord& w : copy_words(f.read.score, context.organ)) {
    j["copy"].push_back({{"moment", moment_json(w.moment)}, {"text", w.text}, {"wants", w.wanted}, {"here", w.here}});
  }
  j["remarks"] = remarks_json(f.read.score, f.fit.remarks);
  return dump(j);
}

}  // namespace calcant
