#include "jobs/choose.hpp"

#include <nlohmann/json.hpp>

#include "jobs/drawn_json.hpp"

namespace calcant {

std::string json_text(const OrganContext& context, const Choices& c) {
  const Organ& organ = context.organ;
  Json j;
  j["purpose"] = c.purpose;
  j["heard"] = context.heard;
  j["considered"] = c.considered;
  j["searched"] = c.searched;
  if (c.at_least) j["points_at_least"] = rounded(*c.at_least, 2);
  j["answers"] = Json::array();
  for (const ChoiceShown& a : c.answers) {
    Json one;
    one["draw"] = draw_json(organ, a.drawn);
    one["box"] = box_json(organ, a.drawn);
    one["played_semitones"] = a.played;
    one["phon"] = rounded(a.phons, 2);
    one["brightness_acum"] = rounded(a.acums, 3);
    one["points"] = rounded(a.points, 2);
    if (a.level_holds) {
      one["level_holds"] = rounded(*a.level_holds, 3);
      one["level_verdict"] = level_verdict(a.claim, *a.level_holds);
    }
    if (a.weighed) {
      one["phon_95"] = rounded(a.weighed->phon_95.value(), 2);
      one["roughness"] = rounded(a.weighed->roughness, 5);
      one["all_assumed"] = a.weighed->all_assumed;
      one["stops"] = Json::array();
      for (const KnobWeight& k : a.weighed->knobs) one["stops"].push_back(knob_json(organ, k));
    }
    one["reasons"] = a.reasons;
    one["one_knob_away"] = Json::array();
    for (const Neighbour& n : a.neighbours) {
      one["one_knob_away"].push_back({{"name", full_name(organ, n.knob)},
                                      {"drawn", n.drawn},
                                      {"phon", rounded(n.phons, 2)},
                                      {"acum", rounded(n.acums, 3)},
                                      {"difference", word(n.difference, n.phons > 0)}});
    }
    one["advice"] = Json::array();
    for (const Advice& v : a.advice) {
      one["advice"].push_back({{"rule", v.rule}, {"weight", word(v.weight)}, {"found", v.found}, {"source", v.source}});
    }
    j["answers"].push_back(std::move(one));
  }
  return dump(j);
}

}  // namespace calcant
