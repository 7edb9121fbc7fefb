// Wishes: what to draw for a purpose, a build-up, the map of all registrations. What was weighed before is answered at once;
// what must first be weighed is a task with the same answer.
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "desk/routes.hpp"
#include "engine/organ/longest_draw.hpp"

namespace calcant::desk {
namespace {

constexpr std::chrono::milliseconds patience{400};  // while the registrant answers another

Work here(const Desk& desk) { return {.threads = desk.settings().threads}; }

using Question = std::function<Result<std::string>(Registrant&, const Work&)>;

// As a task; the registrant is asked when his turn comes.
Answer ask_later(Desk& desk, const char* kind, std::string title, const Asked& asked, Question question) {
  const auto task = desk.start(kind, std::move(title),
                               [&desk, asked, question = std::move(question)](const Work& work) -> Result<std::string> {
                                 const auto registrant = desk.registrant(asked);
                                 if (!registrant) return tl::unexpected<Error>(registrant.error());
                                 work.tell(0, "weighing every registration");
                                 const auto mine = AskedRegistrant::turn(*registrant, work);
                                 if (!mine) return fail("Stopped.");
                                 return question(mine->registrant(), work);
                               });
  if (!task) return why(503, task.error());
  return started(*task);
}

// At once where nothing need be weighed first.
Answer ask(Desk& desk, const char* kind, std::string title, const Asked& asked,
           const std::function<bool(const Registrant&)>& at_once, Question question) {
  const auto organ = organ_of(desk, asked);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const auto registrant = desk.registrant(asked);
  if (!registrant) return why(409, registrant.error());
  if (const auto mine = AskedRegistrant::turn(*registrant, patience); mine && at_once(mine->registrant())) {
    const auto answer = question(mine->registrant(), here(desk));
    if (!answer) return why(422, answer.error());
    return json_answer(*answer, **organ);
  }
  return ask_later(desk, kind, std::move(title), asked, std::move(question));
}

// The level in words or in phon, or a solo: one of them. What a level compared with nothing wants is said here, in words
// for a page.
tl::expected<void, Why> check_wish(const ChooseRequest& r) {
  const bool compared = r.level == "softer" || r.level == "louder";
  if (r.level.empty() && !r.phon && r.solo.empty()) {
    return why(
        422, "Say how loud it is to be: soft, moderate, full, \"enough for 40\" singers; or what a solo is played on.",
        "level");
  }
  if (compared && r.solo.empty() && r.from.empty()) {
    return why(422, fmt::format("{} than what? Say what is drawn now.", r.level == "softer" ? "Softer" : "Louder"),
               "from");
  }
  return {};
}

Answer post_choose(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  ChooseRequest r;
  r.on = body->text_or("manual", "");
  r.level = body->text_or("level", "", longest_draw);
  r.phon = body->number("phon", 0, 130);
  const auto colour = body->one_of("colour", {"any", "darker", "brighter"});
  r.colour = colour == "darker" ? Colour::darker : colour == "brighter" ? Colour::brighter : Colour::any;
  r.must = body->text_or("must", "", longest_draw);
  r.must_not = body->text_or("not", "", longest_draw);
  r.from = body->text_or("from", "", longest_draw);
  r.solo = body->text_or("solo", "", longest_draw);
  r.under = body->text_or("under", "");
  r.singer_db = body->number("singer_db", 50, 110).value_or(r.singer_db);
  r.singer_band = body->number("singer_band", 0, 20).value_or(r.singer_band);
  r.limit = body->whole("limit", 1, 50).value_or(r.limit);
  const Asked asked = asked_of(*body, {"on", "temperature", "at", "people"});
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  if (auto right = check_wish(r); !right) return tl::unexpected<Why>(right.error());
  return ask(
      a.desk, "choose", "What to draw", asked, [r](const Registrant& registrant) { return registrant.at_once(r); },
      [r](Registrant& registrant, const Work& work) -> Result<std::string> {
        const auto found = registrant.choose(r, work);
        if (!found) return tl::unexpected<Error>(found.error());
        return json_text(registrant.context(), *found);
      });
}

Answer post_buildup(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  BuildUpRequest r;
  r.on = body->text_or("manual", "");
  r.from = body->text_or("from", r.from, longest_draw);
  r.to = body->text_or("to", r.to, longest_draw);
  r.steps = body->whole("steps", 2, 24).value_or(r.steps);
  r.must = body->text_or("must", "", longest_draw);
  r.must_not = body->text_or("not", "", longest_draw);
  const Asked asked = asked_of(*body, {"on", "temperature", "at", "people"});
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  if (const auto organ = organ_of(a.desk, asked); !organ) return tl::unexpected<Why>(organ.error());
  return ask_later(a.desk, "buildup", fmt::format("A build-up of {} steps", r.steps), asked,
                   [r](Registrant& registrant, const Work& work) -> Result<std::string> {
                     const auto built = registrant.build_up(r, work);
                     if (!built) return tl::unexpected<Error>(built.error());
                     return json_text(registrant.context(), *built);
                   });
}

Answer get_map(Asking& a) {
  const std::string manual = a.query.text_or("manual", "");
  const Asked asked = asked_of(a.query, {"on", "temperature", "at", "people"});
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  return ask(
      a.desk, "map", "Every registration of one manual", asked,
      [manual](const Registrant& registrant) { return registrant.map_at_once(manual); },
      [manual](Registrant& registrant, const Work& work) -> Result<std::string> {
        const auto map = registrant.map(manual, work);
        if (!map) return tl::unexpected<Error>(map.error());
        return json_text(registrant.context(), *map);
      });
}

}  // namespace

std::vector<Route> wish_routes() {
  return {{"POST", "/api/choose", post_choose, Carries::json},
          {"POST", "/api/buildup", post_buildup, Carries::json},
          {"GET", "/api/map", get_map}};
}

}  // namespace calcant::desk
