#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "desk/routes.hpp"
#include "engine/organ/longest_draw.hpp"
#include "jobs/hear.hpp"
#include "jobs/pieces.hpp"

namespace calcant::desk {
namespace {

constexpr double usual_seconds = 4;

HearSettings how_of(Fields& body) {
  HearSettings how;
  how.gain_db = body.number("gain_db", -60, 60).value_or(0);
  how.dry = body.truth("dry").value_or(false);
  return how;
}

// The job's answer with the sound's address in place of its file.
std::string heard_json(const OrganContext& context, const HeardFile& heard, const std::string& sound) {
  Json j = Json::parse(json_text(context, heard));
  Json out;
  for (const auto& [name, value] : j.items()) {
    if (name == "file") out["sound"] = "/api/sounds/" + sound;
    else out[name] = value;
  }
  return dump(out);
}

using Hearing = std::function<Result<HeardFile>(const OrganContext&, const HearSettings&, const Work&)>;

Answer begin(Desk& desk, const char* kind, std::string title, const Asked& asked, HearSettings how, Hearing hear) {
  if (const auto organ = organ_of(desk, asked); !organ) return tl::unexpected<Why>(organ.error());
  const auto task =
      desk.start(kind, std::move(title),
                 [&desk, asked, how = std::move(how), hear = std::move(hear)](const Work& work) -> Result<std::string> {
                   const auto organ = desk.organ(asked);
                   if (!organ) return tl::unexpected<Error>(organ.error());
                   auto [sound, path] = desk.new_sound();
                   HearSettings settings = how;
                   settings.out = path;
                   const auto heard = hear((*organ)->context, settings, work);
                   if (!heard) return tl::unexpected<Error>(heard.error());
                   return heard_json((*organ)->context, *heard, sound);
                 });
  if (!task) return why(503, task.error());
  return started(*task);
}

Answer hear_piece(Desk& desk, Fields& body, const std::string& piece) {
  HearScore what;
  what.draw = body.text("draw", longest_draw);
  what.on = body.text_or("manual", "");
  what.from_bar = body.text("from_bar", 20);
  what.to_bar = body.text("to_bar", 20);
  what.tempo = body.number("tempo", 10, 400);
  what.verses = body.whole("verses", 1, 60);
  if (const auto bass = body.one_of("bass", {"feet", "hands", "both"})) {
    if (const auto parsed = parse_bass(*bass)) what.bass = *parsed;
  }
  HearSettings how = how_of(body);
  const Asked asked = asked_of(body, {"on", "temperature", "at", "people"});
  if (auto right = finished(body); !right) return tl::unexpected<Why>(right.error());
  const auto file = piece_file(desk.folder(), piece);
  if (!file) return why(404, file.error());
  what.score = *file;
  return begin(desk, "hear", fmt::format("{} as sound", piece), asked, std::move(how),
               [what](const OrganContext& context, const HearSettings& settings, const Work& work) {
                 return hear_score(context, what, settings, work);
               });
}

Answer post_hear(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  if (const auto piece = body->text("piece")) return hear_piece(a.desk, *body, *piece);
  const std::string draw = body->required("draw", longest_draw);
  const std::string keys = body->required("keys", longest_draw);
  const double seconds = body->number("seconds", 0.2, 600).value_or(usual_seconds);
  HearSettings how = how_of(*body);
  const Asked asked = asked_of(*body, {"on", "temperature", "at", "people"});
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  return begin(a.desk, "hear", "A chord as sound", asked, std::move(how),
               [=](const OrganContext& context, const HearSettings& settings, const Work& work) {
                 return hear_chord(context, draw, keys, Seconds{seconds}, settings, work);
               });
}

Answer post_compare(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  const std::string first = body->required("first", longest_draw);
  const std::string second = body->required("second", longest_draw);
  const std::string keys = body->required("keys", longest_draw);
  const double seconds = body->number("seconds", 0.2, 600).value_or(usual_seconds);
  HearSettings how = how_of(*body);
  const Asked asked = asked_of(*body, {"on", "temperature", "at", "people"});
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  return begin(a.desk, "compare", "Two registrations as sound", asked, std::move(how),
               [=](const OrganContext& context, const HearSettings& settings, const Work& work) {
                 return hear_two(context, first, second, keys, Seconds{seconds}, settings, work);
               });
}

Answer get_sound(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  if (safe_name(a.part(0)) != a.part(0)) return why(404, "There is no such sound.", "sound");
  return sound_answer(a.desk.sound_path(a.part(0)), a.request.head);
}

}  // namespace

std::vector<Route> hearing_routes() {
  return {{"POST", "/api/hear", post_hear, Carries::json},
          {"POST", "/api/compare", post_compare, Carries::json},
          {"GET", "/api/sounds/{sound}", get_sound}};
}

}  // namespace calcant::desk
