#include <nlohmann/json.hpp>

#include "desk/routes.hpp"
#include "engine/organ/longest_draw.hpp"
#include "engine/registration/rule_list.hpp"
#include "jobs/sounding.hpp"
#include "jobs/weigh.hpp"

namespace calcant::desk {
namespace {

Work here(const Desk& desk) { return {.threads = desk.settings().threads}; }

Answer post_sounding(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  const std::string draw = body->required("draw", longest_draw);
  const std::string keys = body->required("keys", longest_draw);
  const Asked asked = asked_of(*body, {"on", "temperature"});
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk, asked);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const auto sounded = what_sounds((*organ)->context, draw, keys);
  if (!sounded) return why(422, sounded.error());
  return json_answer(json_text((*organ)->context, *sounded), **organ);
}

Answer post_weigh(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  const std::string draw = body->required("draw", longest_draw);
  const std::string keys = body->required("keys", longest_draw);
  const int draws = body->whole("draws", 20, 1000).value_or(100);
  const Asked asked = asked_of(*body, {"on", "temperature", "at", "people"});
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk, asked);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const auto weighed = weigh_registration((*organ)->context, draw, keys, draws, here(a.desk));
  if (!weighed) return why(422, weighed.error());
  return json_answer(json_text((*organ)->context, *weighed), **organ);
}

Use use_of(std::string_view word) {
  if (word == "hymn") return Use::hymn;
  if (word == "solo") return Use::solo;
  if (word == "accompaniment") return Use::accompaniment;
  return word == "colour" ? Use::colour : Use::chorus;
}

Answer post_advise(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  const std::string draw = body->required("draw", longest_draw);
  AdviceRequest request;
  request.draw = draw;
  request.on = body->text_or("manual", "");
  request.use = use_of(body->one_of("use", {"chorus", "hymn", "solo", "accompaniment", "colour"}).value_or("chorus"));
  request.solo = body->text_or("solo", "");
  const Asked asked = asked_of(*body, {"on", "at", "people"});
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk, asked);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const auto advised = advise_registration((*organ)->context, request);
  if (!advised) return why(422, advised.error());
  return json_answer(json_text((*organ)->context, *advised), **organ);
}

Answer get_rules(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  Json j;
  j["rules"] = Json::array();
  for (const PracticeRule& r : practice_rules())
    j["rules"].push_back({{"rule", r.code}, {"sentence", r.sentence}, {"source", r.source}});
  return json_answer(dump(j));
}

}  // namespace

std::vector<Route> choosing_routes() {
  return {{"GET", "/api/rules", get_rules},
          {"POST", "/api/sounding", post_sounding, Carries::json},
          {"POST", "/api/weigh", post_weigh, Carries::json},
          {"POST", "/api/advise", post_advise, Carries::json}};
}

}  // namespace calcant::desk
