#include "jobs/weigh.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "engine/plan/scales.hpp"
#include "files/words/words.hpp"
#include "jobs/drawn_json.hpp"
#include "jobs/json.hpp"
#include "jobs/saved.hpp"

namespace calcant {
namespace {

KeyboardIndex most_drawn_on(const Organ& organ, const Registration& drawn) {
  KeyboardIndex on = 0;
  std::size_t most = 0;
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    if (organ.keyboards[k].pedal) continue;
    const std::size_t count = heard_from(organ, drawn, static_cast<KeyboardIndex>(k)).size();
    if (count > most) {
      most = count;
      on = static_cast<KeyboardIndex>(k);
    }
  }
  return on;
}

// Whether a level is in the lowest quarter between the softest stop of the manual at 8 ft and everything it reaches at pitch.
bool soft(Scales& scales, KeyboardIndex keyboard, const HandsAndFeet& on, Phons level) {
  const Organ& organ = scales.listening().organ();
  const DivisionIndex home = organ.keyboards[static_cast<std::size_t>(keyboard)].division;
  Registration all;
  all.box.fill(1);
  std::optional<Phons> low;
  for (std::size_t s = 0; s < organ.stops.size(); ++s) {
    const Stop& stop = organ.stops[s];
    if (stop.out_of_use || stop.celeste) continue;
    all.stops.set(s);
    if (stop.division != home || stop.feet.size() != 1 || stop.feet.front().semitones() != 0) continue;
    Registration one;
    one.stops.set(s);
    const Phons alone = scales.hands(one, on);
    if (alone > Phons{0} && (!low || alone < *low)) low = alone;
  }
  for (std::size_t c = 0; c < organ.couplers.size(); ++c) {
    const Coupler& x = organ.couplers[c];
    if (x.from == keyboard && x.semitones == 0 && !x.unison_off) all.couplers.set(c);
  }
  return low && level < *low + SoftPractice::below * (scales.hands(all, on) - *low);
}

// What the rules weigh: hands against feet, and the wind of a full chord.
void compute_facts(const Listening& listening, const Registration& drawn, Occasion& occasion) {
  const Organ& organ = listening.organ();
  HandsAndFeet on;
  on.right = on.left = occasion.on;
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    if (organ.keyboards[k].pedal) on.feet = static_cast<KeyboardIndex>(k);
  }
  Scales scales{listening, hymn_chords(0, false, on.feet.has_value(), false)};
  const auto heard = [](Phons p) { return p.value() > 0 ? std::optional{p} : std::nullopt; };
  occasion.manual = heard(scales.hands(drawn, on));
  if (on.feet) occasion.pedal = heard(scales.feet(drawn, on));
  KeysDown full;
  for (const int key : {48, 55, 60, 64, 67, 72}) full.keys[static_cast<std::size_t>(occasion.on)].insert(key);
  if (on.feet) full.keys[static_cast<std::size_t>(*on.feet)].insert(36);
  PipeSet pipes;
  Sounding{organ}.pipes(drawn, full, pipes);
  occasion.wind = listening.wind(pipes);
  if (occasion.manual) occasion.soft = soft(scales, occasion.on, on, *occasion.manual);
}

}  // namespace

Result<Weighing> weigh_registration(const OrganContext& context, const std::string& draw, const std::string& keys,
                                    int draws, const Work& work) {
  const auto drawn = drawn_registration(context, draw);
  if (!drawn) return tl::unexpected(drawn.error());
  if (drawn->stops.none()) return fail("no stop is drawn; name some, as calcant spec lists them", "--draw");
  const auto down = parse_keys(context.organ, keys);
  if (!down) return tl::unexpected(down.error());
  if (*down == KeysDown{}) {
    return fail(fmt::format("no key is held; say which, as \"{}:C4,E4,G4\"", context.organ.keyboards.front().name),
                "--keys");
  }
  const Listening listening{context.organ, context.condition};
  auto figures = weigh(listening, *drawn, *down, {draws}, work);
  if (!figures) return tl::unexpected(figures.error());
  return Weighing{*drawn, *down, std::move(*figures), context.heard, draws};
}

std::vector<std::string> notes_on(const WeighedRegistration& w) {
  std::vector<std::string> notes;
  if (w.modal_below > Hertz{0}) {
    notes.push_back(
        fmt::format("Below about {:.0f} Hz a church sounds by single resonances, and some of this lies there: "
                    "these figures are means over places, and from seat to seat the bass may be 10 dB more or "
                    "less.",
                    w.modal_below.value()));
  }
  if (w.all_assumed) notes.push_back("No level here was measured: what follows is order and kind.");
  return notes;
}

std::string json_text(const OrganContext& context, const Weighing& w) {
  const Organ& organ = context.organ;
  Json j;
  j["drawn"] = registration_text(organ, w.drawn);
  j["keys"] = keys_text(organ, w.down);
  j["at"] = context.condition.place == PlaceKind::bench ? "bench" : "nave";
  j["people"] = context.condition.people == People::full   ? "full"
                : context.condition.people == People::half ? "half"
                                                           : "empty";
  j["sone"] = rounded(w.figures.loudness.sones.value(), 4);
  j["phon"] = rounded(w.figures.loudness.phons.value(), 2);
  j["phon_95"] = rounded(w.figures.phon_95.value(), 2);
  j["brightness_acum"] = rounded(w.figures.brightness.value(), 4);
  j["roughness"] = rounded(w.figures.roughness, 5);
  j["beats"] = Json::array();
  for (const Beat& b : w.figures.beats) {
    j["beats"].push_back({{"per_second", rounded(b.rate.value(), 2)},
                          {"hz", rounded(b.frequency.value(), 2)},
                          {"depth_db", rounded(b.depth.value(), 1)}});
  }
  j["wind_l_s"] = rounded(w.figures.wind.demand.value(), 1);
  j["wind"] = sentence(w.figures.wind, "The blower");
  j["pipes"] = w.figures.pipes;
  j["all_assumed"] = w.figures.all_assumed;
  j["heard"] = w.heard;
  j["notes"] = Json::array();
  for (const std::string& note : notes_on(w.figures)) j["notes"].push_back(note);
  j["stops"] = Json::array();
  j["would_add"] = Json::array();
  for (const KnobWeight& k : w.figures.knobs) j[k.drawn ? "stops" : "would_add"].push_back(knob_json(organ, k));
  return dump(j);
}

Result<Advised> advise_registration(const OrganContext& context, const AdviceRequest& request) {
  const Organ& organ = context.organ;
  const auto drawn = drawn_registration(context, request.draw);
  if (!drawn) return tl::unexpected(drawn.error());
  if (drawn->stops.none()) return fail("no stop is drawn; name some, as calcant spec lists them", "--draw");
  Occasion occasion;
  occasion.use = request.use;
  if (request.on.empty()) {
    occasion.on = most_drawn_on(organ, *drawn);
  } else {
    const auto on = parse_keyboard(organ, request.on);
    if (!on) return fail(on.error().message, "--on");
    occasion.on = *on;
  }
  if (!request.solo.empty()) {
    const auto solo = parse_keyboard(organ, request.solo);
    if (!solo) return fail(solo.error().message, "--solo");
    if (*solo == occasion.on) return fail("the solo and its accompaniment are on one keyboard; name two", "--solo");
    occasion.solo_on = *solo;
  }
  if (request.box_warmer_by) occasion.box_above_room = Celsius{*request.box_warmer_by};
  compute_facts(Listening{organ, context.condition}, *drawn, occasion);
  return Advised{*drawn, occasion, advise(organ, *drawn, occasion)};
}

std::string json_text(const OrganContext& context, const Advised& a) {
  const Organ& organ = context.organ;
  Json j;
  j["drawn"] = registration_text(organ, a.drawn);
  j["on"] = organ.keyboards[static_cast<std::size_t>(a.occasion.on)].name;
  const auto put = [&](const char* field, const auto& figure) {
    if (figure) j[field] = rounded(figure->value(), 1);
  };
  put("manual_phon", a.occasion.manual);
  put("pedal_phon", a.occasion.pedal);
  put("wind_l_s", a.occasion.wind);
  j["advice"] = Json::array();
  for (const Advice& one : a.advice) {
    j["advice"].push_back({{"rule", one.rule},
                           {"weight", word(one.weight)},
                           {"found", one.found},
                           {"why", one.why},
                           {"source", one.source}});
  }
  j["heard"] = context.heard;
  j["note"] = "your ear decides";
  return dump(j);
}

}  // namespace calcant
