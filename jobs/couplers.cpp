#include "jobs/couplers.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "engine/organ/coupler_trial.hpp"
#include "files/words/words.hpp"
#include "jobs/json.hpp"

namespace calcant {
namespace {

std::string pitches(const Organ& organ, const std::vector<PipeId>& heard, DivisionIndex division) {
  if (heard.empty()) return "silence";
  if (heard.size() == 2) return "two pitches";
  const bool other =
      organ.chests[static_cast<std::size_t>(organ.ranks[static_cast<std::size_t>(heard.front().rank)].chest)]
          .division == division;
  return other ? fmt::format("the {}", organ.divisions[static_cast<std::size_t>(division)].name) : "one pitch";
}

}  // namespace

std::vector<CouplerStep> coupler_steps(const OrganContext& context) {
  const Organ& organ = context.organ;
  std::vector<CouplerStep> steps;
  for (const CouplerTrial& t : coupler_trials(organ)) {
    Registration r;
    r.box.fill(1.0F);
    r.stops.set(static_cast<std::size_t>(t.stop));
    r.couplers.set(static_cast<std::size_t>(t.first));
    r.couplers.set(static_cast<std::size_t>(t.second));
    const Coupler& first = organ.couplers[static_cast<std::size_t>(t.first)];
    const Coupler& second = organ.couplers[static_cast<std::size_t>(t.second)];
    const std::string& division = organ.divisions[static_cast<std::size_t>(second.to)].name;
    CouplerStep s;
    s.draw = registration_text(organ, r);
    s.keys = organ.keyboards[static_cast<std::size_t>(t.keyboard)].name + ":" + name(t.key);
    if (t.if_not_carried.empty()) {
      s.question = fmt::format("Is there silence, or is the {} heard?", division);
      s.if_carried = pitches(organ, t.if_carried, second.to);
      s.if_not = "silence";
    } else {
      s.question =
          fmt::format("Is one pitch heard, or two, the second an octave {}?", second.semitones > 0 ? "above" : "below");
      s.if_carried = "two pitches";
      s.if_not = "one pitch";
    }
    s.assumed_carried = t.assumed_carried;
    s.tried = t.tried;
    s.through = first.id;
    s.carried = second.id;
    steps.push_back(std::move(s));
  }
  return steps;
}

std::string json_text(const std::vector<CouplerStep>& steps) {
  Json j;
  j["tried"] = !steps.empty() && std::all_of(steps.begin(), steps.end(), [](const CouplerStep& s) { return s.tried; });
  j["steps"] = Json::array();
  for (const CouplerStep& s : steps) {
    j["steps"].push_back({{"draw", s.draw},
                          {"keys", s.keys},
                          {"question", s.question},
                          {"expected", s.assumed_carried ? s.if_carried : s.if_not},
                          {"tried", s.tried},
                          {"through", s.through},
                          {"carried", s.carried},
                          {"carries", s.assumed_carried}});
  }
  return dump(j);
}

}  // namespace calcant
