#include "jobs/sounding.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "files/words/words.hpp"
#include "jobs/json.hpp"
#include "jobs/saved.hpp"

namespace calcant {
namespace {

// Where the rank has no pipe, its last length (or its first) is taken to go on.
Note note_of_missing(const Organ& organ, const MissingPipe& m) {
  const auto& rank = organ.ranks[static_cast<std::size_t>(m.rank)];
  int step = 0;
  for (const auto& part : organ.stops[static_cast<std::size_t>(m.stop)].parts) {
    if (part.rank == m.rank) {
      step = part.step;
      if (m.note >= part.from && m.note <= part.to) break;
    }
  }
  const int key = m.note.midi + step;
  const Note nearest{std::clamp(key, rank.low_key.midi, rank.high_key().midi)};
  return Note{key + rank.feet_at(nearest).semitones()};
}

std::string key_text(const Organ& organ, KeyboardIndex keyboard, Note key) {
  return organ.keyboards[static_cast<std::size_t>(keyboard)].name + ":" + name(key);
}

}  // namespace

Result<Sounded> what_sounds(const OrganContext& context, const std::string& draw, const std::string& keys) {
  const auto drawn = drawn_registration(context, draw);
  if (!drawn) return tl::unexpected<Error>(drawn.error());
  const auto down = parse_keys(context.organ, keys);
  if (!down) return tl::unexpected<Error>(down.error());

  Sounded s;
  s.drawn = *drawn;
  s.down = *down;
  s.temperature = context.condition.air.temperature;
  SoundingReport report = explain(context.organ, *drawn, *down);
  for (auto& p : report.pipes) {
    const PipeId pipe = p.pipe;
    s.pipes.push_back(
        {std::move(p), sounding_note(context.organ, pipe), frequency(context.organ, pipe, s.temperature)});
  }
  for (auto& m : report.missing) {
    const Note note = note_of_missing(context.organ, m);
    s.missing.push_back({std::move(m), note});
  }
  return s;
}

std::string json_text(const OrganContext& context, const Sounded& sounded) {
  const Organ& organ = context.organ;
  Json j;
  j["drawn"] = registration_text(organ, sounded.drawn);
  j["keys"] = keys_text(organ, sounded.down);
  j["celsius"] = sounded.temperature.value();
  j["pipes"] = Json::array();
  for (const auto& p : sounded.pipes) {
    Json pj;
    pj["rank"] = organ.ranks[static_cast<std::size_t>(p.reasons.pipe.rank)].id;
    pj["pipe"] = p.reasons.pipe.number;
    pj["note"] = name(p.note);
    pj["midi"] = p.note.midi;
    pj["hz"] = rounded(p.frequency.value(), 4);
    pj["keys"] = Json::array();
    pj["from"] = Json::array();
    std::vector<std::string> told;
    for (const auto& f : p.reasons.from) {
      const std::string key = key_text(organ, f.keyboard, f.key);
      if (std::find(told.begin(), told.end(), key) == told.end()) told.push_back(key);
      Json through = Json::array();
      for (const auto c : f.through) through.push_back(organ.couplers[static_cast<std::size_t>(c)].id);
      pj["from"].push_back(
          {{"key", key}, {"stop", organ.stops[static_cast<std::size_t>(f.stop)].id}, {"through", std::move(through)}});
    }
    pj["keys"] = told;
    j["pipes"].push_back(std::move(pj));
  }
  j["missing"] = Json::array();
  for (const auto& m : sounded.missing) {
    Json mj;
    mj["rank"] = organ.ranks[static_cast<std::size_t>(m.reasons.rank)].id;
    mj["midi"] = m.note.midi;
    mj["why"] = m.reasons.why;
    mj["stop"] = organ.stops[static_cast<std::size_t>(m.reasons.stop)].id;
    mj["key"] = key_text(organ, m.reasons.keyboard, m.reasons.key);
    mj["division_midi"] = m.reasons.note.midi;
    j["missing"].push_back(std::move(mj));
  }
  return dump(j);
}

}  // namespace calcant
