#include "jobs/couplers.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "engine/organ/coupler_trial.hpp"
#include "files/words/words.hpp"
#include "jobs/json.hpp"

namespace calcant {
namespace {

constexpr const char* silence = "silence";

std::string pitches(const Organ& organ, const std::vector<PipeId>& heard, DivisionIndex division) {
  if (heard.empty()) return silence;
  if (heard.size() == 2) return "two pitches";
  const bool other =
      organ.chests[static_cast<std::size_t>(organ.ranks[static_cast<std::size_t>(heard.front().rank)].chest)]
          .division == division;
  return other ? fmt::format("the {}", organ.divisions[static_cast<std::size_t>(division)].name) : "one pitch";
}

}  // namespace

std::vector<CouplerStep> coupler_steps(const OrganContext& context, const std::vector<CouplerHeard>& heard) {
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
      s.if_not = silence;
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
    s.answers = {{s.if_not, false}, {s.if_carried, true}};
    if (!t.if_not_carried.empty()) s.answers.push_back({silence, std::nullopt});
    s.answers.push_back({"a wrong note", std::nullopt});
    const auto last = std::find_if(heard.begin(), heard.end(), [&](const CouplerHeard& h) {
      return h.through == s.through && h.carried == s.carried;
    });
    if (last != heard.end()) s.last = *last;
    steps.push_back(std::move(s));
  }
  return steps;
}

Result<CouplerHeard> heard_in(const std::vector<CouplerStep>& steps, CouplerHeard said) {
  const auto step = std::find_if(steps.begin(), steps.end(), [&](const CouplerStep& s) {
    return s.through == said.through && s.carried == said.carried;
  });
  if (step == steps.end()) return fail("The coupler test of this organ has no such step.", "through");
  if (said.heard.empty()) return said;
  const auto answer = std::find_if(step->answers.begin(), step->answers.end(),
                                   [&](const CouplerAnswer& a) { return a.heard == said.heard; });
  if (answer == step->answers.end()) {
    std::vector<std::string> known;
    for (const CouplerAnswer& a : step->answers) known.push_back(a.heard);
    return fail(fmt::format("'{}' is no answer to it; one is: {}.", said.heard, fmt::join(known, ", ")), "heard");
  }
  said.carries = answer->carries;
  return said;
}

std::string json_text(const std::vector<CouplerStep>& steps) {
  Json j;
  j["tried"] = !steps.empty() && std::all_of(steps.begin(), steps.end(), [](const CouplerStep& s) { return s.tried; });
  j["steps"] = Json::array();
  for (const CouplerStep& s : steps) {
    Json step{{"draw", s.draw},         {"keys", s.keys},
              {"question", s.question}, {"expected", s.assumed_carried ? s.if_carried : s.if_not},
              {"tried", s.tried},       {"through", s.through},
              {"carried", s.carried},   {"carries", s.assumed_carried}};
    step["answers"] = Json::array();
    for (const CouplerAnswer& a : s.answers)
      step["answers"].push_back({{"heard", a.heard}, {"carries", a.carries ? Json(*a.carries) : Json(nullptr)}});
    if (s.last) step["last"] = {{"heard", s.last->heard}, {"date", s.last->date}};
    j["steps"].push_back(std::move(step));
  }
  return dump(j);
}

}  // namespace calcant
