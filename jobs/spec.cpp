#include "jobs/spec.hpp"

#include <nlohmann/json.hpp>

#include "jobs/json.hpp"

namespace calcant {
namespace {

Json sourced(double value, Source source) {
  Json j;
  j["value"] = value;
  j["source"] = std::string{word(source)};
  return j;
}

Json stop_json(const Organ& organ, const Stop& s) {
  Json j;
  j["id"] = s.id;
  j["name"] = full_name(s);
  std::string feet;
  for (const auto& f : s.feet) feet += (feet.empty() ? "" : " & ") + to_string(f);
  j["feet"] = feet;
  if (s.mixture_ranks > 0) j["mixture_ranks"] = s.mixture_ranks;
  j["family"] = std::string{word(s.family)};
  j["low_midi"] = s.low().midi;
  if (s.low_own() != s.low()) j["low_own_midi"] = s.low_own().midi;
  if (s.celeste) j["celeste"] = true;
  Json ranks = Json::array();
  for (const auto& part : s.parts) {
    const auto& rank = organ.ranks[static_cast<std::size_t>(part.rank)];
    ranks.push_back({{"rank", rank.id},
                     {"from_midi", part.from.midi},
                     {"to_midi", part.to.midi},
                     {"step", part.step},
                     {"borrowed", part.borrowed}});
  }
  j["ranks"] = std::move(ranks);
  if (s.out_of_use) j["out_of_use"] = true;
  return j;
}

}  // namespace

std::string invented_words(const Organ& organ) { return organ.invented ? "Invented organ" : ""; }

std::string specification_json(const Organ& organ, const std::vector<std::string>& notes) {
  Json j;
  j["id"] = organ.id;
  j["name"] = organ.name;
  j["about"] = organ.about;
  j["invented"] = organ.invented;
  j["divisions"] = Json::array();
  for (std::size_t d = 0; d < organ.divisions.size(); ++d) {
    const auto& division = organ.divisions[d];
    Json dj;
    dj["id"] = division.id;
    dj["name"] = division.name;
    NoteSet keys = NoteSet::range(division.low.midi, division.high.midi);
    if (division.keyboard) {
      const auto& keyboard = organ.keyboards[static_cast<std::size_t>(*division.keyboard)];
      keys = keyboard.keys;
      dj["keyboard"] = keyboard.id;
      dj["pedal"] = keyboard.pedal;
    }
    dj["low_midi"] = keys.lowest();
    dj["high_midi"] = keys.highest();
    dj["keys"] = keys.size();
    dj["action_low_midi"] = division.low.midi;
    dj["action_high_midi"] = division.high.midi;
    if (division.box) dj["box"] = organ.boxes[static_cast<std::size_t>(*division.box)].id;
    dj["stops"] = Json::array();
    for (const auto& s : organ.stops) {
      if (s.division == static_cast<DivisionIndex>(d)) dj["stops"].push_back(stop_json(organ, s));
    }
    j["divisions"].push_back(std::move(dj));
  }
  j["couplers"] = Json::array();
  for (const auto& c : organ.couplers) {
    Json cj;
    cj["id"] = c.id;
    cj["name"] = c.name;
    cj["from"] = organ.keyboards[static_cast<std::size_t>(c.from)].id;
    cj["to"] = organ.divisions[static_cast<std::size_t>(c.to)].id;
    cj["semitones"] = c.semitones;
    if (c.unison_off) cj["unison_off"] = true;
    cj["carries"] = Json::array();
    for (const auto carried : c.carries) cj["carries"].push_back(organ.couplers[static_cast<std::size_t>(carried)].id);
    cj["tried"] = c.tried;
    j["couplers"].push_back(std::move(cj));
  }
  j["boxes"] = Json::array();
  for (const auto& b : organ.boxes) {
    j["boxes"].push_back({{"id", b.id},
                          {"name", b.name},
                          {"pedal", b.pedal == SwellPedal::lever ? "lever" : "balanced"},
                          {"hitches", b.hitches}});
  }
  j["accessories"] = Json::array();
  for (const auto& a : organ.accessories) j["accessories"].push_back({{"id", a.id}, {"name", a.name}});
  j["pitch"] = {{"a_hz", organ.pitch.a.value.value()},
                {"celsius", organ.pitch.at.value.value()},
                {"source", std::string{word(organ.pitch.a.source)}}};
  j["temperament"] = organ.temperament.id;
  j["temperament_name"] = organ.temperament.name;
  j["room"] = {{"cubic_metres", sourced(organ.room.volume.value.value(), organ.room.volume.source)},
               {"celsius", sourced(organ.room.temperature.value.value(), organ.room.temperature.source)}};
  j["assumed"] = notes;
  return dump(j);
}

}  // namespace calcant
