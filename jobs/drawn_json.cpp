#include "jobs/drawn_json.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "engine/organ/knob.hpp"

namespace calcant {

Json draw_json(const Organ& organ, const Registration& drawn) {
  Json out = Json::array();
  for (const Knob k : knobs(organ, drawn)) {
    std::string name = full_name(organ, k);
    if (k.kind == Knob::Kind::stop) {
      const Stop& s = organ.stops[static_cast<std::size_t>(k.index)];
      name = organ.divisions[static_cast<std::size_t>(s.division)].name + ": " + name;
    }
    out.push_back(name);
  }
  return out;
}

Json box_json(const Organ& organ, const Registration& drawn) {
  if (organ.boxes.empty()) return nullptr;
  if (organ.boxes.size() == 1) return rounded(drawn.box[0], 2);
  Json out;
  for (std::size_t b = 0; b < organ.boxes.size(); ++b) out[organ.boxes[b].id] = rounded(drawn.box[b], 2);
  return out;
}

Json knob_json(const Organ& organ, const KnobWeight& k) {
  Json j;
  j["id"] = id(organ, k.knob);
  j["name"] = full_name(organ, k.knob);
  j["drawn"] = k.drawn;
  // From silence to sound is no percentage.
  if (std::isfinite(k.change.loudness)) j["change_percent"] = rounded(100 * k.change.loudness, 2);
  else j["change_percent"] = nullptr;
  j["change_db"] = rounded(k.change.excitation.value(), 2);
  j["alone_sone"] = rounded(k.alone.value(), 4);
  j["partial_sone"] = rounded(k.partial.value(), 5);
  j["changes_the_sound"] = word(k.change.difference);
  j["heard_as_itself"] = word(k.presence);
  j["verdict"] = verdict(k);
  j["verdict_holds"] = rounded(k.verdict_holds, 3);
  j["pipes"] = k.pipes;
  return j;
}

}  // namespace calcant
