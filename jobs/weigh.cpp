#include "jobs/weigh.hpp"

#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "files/words/words.hpp"
#include "jobs/faults.hpp"
#include "jobs/json.hpp"

namespace calcant {
namespace {

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

}  // namespace

Result<std::string> heard_here(const OrganContext& context) {
  std::error_code none;
  if (!std::filesystem::exists(context.folder / "organ.book", none)) return "not yet heard here";
  auto book = open_book(context);
  if (!book) return tl::unexpected(book.error());
  const auto trial = book->trial();
  if (!trial) return tl::unexpected(trial.error());
  int agreed = 0;
  int answered = 0;
  std::string date;
  for (const TrialAnswer& a : *trial) {
    if (a.undone || a.answered.empty()) continue;
    ++answered;
    agreed += a.answered == a.predicted ? 1 : 0;
    date = std::max(date, a.date);
  }
  if (answered == 0) return "not yet heard here";
  return fmt::format("agreed with your ear in {} of {} ({})", agreed, answered, date);
}

Result<Weighing> weigh_registration(const OrganContext& context, const std::string& draw, const std::string& keys,
                                    int draws, const Work& work) {
  const auto drawn = parse_registration(context.organ, draw);
  if (!drawn) return tl::unexpected(drawn.error());
  if (drawn->stops.none()) return fail("no stop is drawn; name some, as calcant spec lists them", "--draw");
  const auto down = parse_keys(context.organ, keys);
  if (!down) return tl::unexpected(down.error());
  const Listening listening{context.organ, context.condition};
  auto figures = weigh(listening, *drawn, *down, {draws, 1}, work);
  if (!figures) return tl::unexpected(figures.error());
  auto heard = heard_here(context);
  if (!heard) return tl::unexpected(heard.error());
  return Weighing{*drawn, *down, std::move(*figures), std::move(*heard)};
}

std::string json_text(const OrganContext& context, const Weighing& w) {
  const Organ& organ = context.organ;
  Json j;
  j["drawn"] = registration_text(organ, w.drawn);
  j["keys"] = keys_text(organ, w.down);
  j["at"] = context.condition.place == PlaceKind::bench ? "bench" : "nave";
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
  j["stops"] = Json::array();
  j["would_add"] = Json::array();
  for (const KnobWeight& k : w.figures.knobs) j[k.drawn ? "stops" : "would_add"].push_back(knob_json(organ, k));
  return dump(j);
}

Result<Advised> advise_registration(const OrganContext& context, const std::string& draw, const std::string& on,
                                    const std::string& use) {
  const Organ& organ = context.organ;
  const auto drawn = parse_registration(organ, draw);
  if (!drawn) return tl::unexpected(drawn.error());
  if (drawn->stops.none()) return fail("no stop is drawn; name some, as calcant spec lists them", "--draw");
  Occasion occasion;
  if (on.empty()) {
    std::size_t most = 0;
    for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
      if (organ.keyboards[k].pedal) continue;
      const std::size_t count = heard_from(organ, *drawn, static_cast<KeyboardIndex>(k)).size();
      if (count > most) {
        most = count;
        occasion.on = static_cast<KeyboardIndex>(k);
      }
    }
  } else {
    std::string known;
    std::optional<KeyboardIndex> found = keyboard_by_id(organ, on);
    for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
      known += (k == 0 ? "" : ", ") + organ.keyboards[k].name;
      if (organ.keyboards[k].name == on) found = static_cast<KeyboardIndex>(k);
    }
    if (!found) return fail(fmt::format("no keyboard is called \"{}\"; there are {}", on, known), "--on");
    occasion.on = *found;
  }
  occasion.use = use == "hymn"            ? Use::hymn
                 : use == "solo"          ? Use::solo
                 : use == "accompaniment" ? Use::accompaniment
                 : use == "colour"        ? Use::colour
                                          : Use::chorus;
  return Advised{*drawn, advise(organ, *drawn, occasion)};
}

std::string json_text(const OrganContext& context, const Advised& a) {
  Json j;
  j["drawn"] = registration_text(context.organ, a.drawn);
  j["advice"] = Json::array();
  for (const Advice& one : a.advice) {
    j["advice"].push_back({{"rule", one.rule},
                           {"weight", word(one.weight)},
                           {"found", one.found},
                           {"why", one.why},
                           {"source", one.source}});
  }
  j["note"] = "your ear decides";
  return dump(j);
}

}  // namespace calcant
