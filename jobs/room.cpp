#include "jobs/room.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>

#include "engine/listening/listening.hpp"
#include "jobs/json.hpp"
#include "jobs/room_response.hpp"

namespace calcant {
namespace {

constexpr Hertz least_modal{80};  // of a small church, whatever its Schroeder frequency (common practice)

// L_p - L_W 10 m from a point source in the open: what strength is counted from.
const double free_at_10_m = -10 * std::log10(4 * std::numbers::pi * 100);

std::string word_of(People p) { return p == People::empty ? "empty" : p == People::half ? "half" : "full"; }
std::string word_of(PlaceKind p) { return p == PlaceKind::bench ? "bench" : "nave"; }

Json json(const Bands& bands, int places) {
  Json out = Json::array();
  for (const double v : bands) out.push_back(rounded(v, places));
  return out;
}

Json json(const std::optional<Seconds>& s) { return s ? Json(rounded(s->value(), 3)) : Json(nullptr); }

Json json(const Decay& d) {
  Json j;
  j["edt_s"] = json(d.early);
  j["t20_s"] = json(d.t20);
  j["t30_s"] = json(d.t30);
  j["c80_db"] = rounded(d.clarity.value(), 2);
  j["d50"] = rounded(d.definition, 3);
  j["ts_ms"] = rounded(1000 * d.centre_time.value(), 1);
  j["range_db"] = rounded(d.range.value(), 1);
  return j;
}

Json json(const RoomModel& m) {
  Json j;
  j["volume_m3"] = rounded(m.volume.value(), 0);
  j["from"] = m.from;
  j["reverberation_measured"] = m.reverberation_measured;
  j["modal_below_hz"] = rounded(m.modal_below.value(), 0);
  j["bands_hz"] = octave_bands_hz;
  for (const RoomWith& w : m.with) {
    Json k;
    k["people"] = word_of(w.people);
    k["persons"] = rounded(w.persons, 0);
    k["reverberation_s"] = json(w.reverberation, 2);
    k["schroeder_hz"] = rounded(w.schroeder.value(), 0);
    k["critical_distance_m"] = rounded(w.critical.value(), 2);
    for (const RoomWith::At& a : w.at) {
      k["at"].push_back({{"place", word_of(a.place)},
                         {"metres", rounded(a.distance.value(), 1)},
                         {"strength_db", json(a.strength, 1)}});
    }
    j["with"].push_back(std::move(k));
  }
  return j;
}

}  // namespace

RoomModel room_model(const OrganContext& context) {
  const Organ& organ = context.organ;
  RoomModel out;
  out.reverberation_measured = organ.room.reverberation.has_value();
  out.from = out.reverberation_measured     ? "reverberation as the organ file has it"
             : !organ.room.surfaces.empty() ? "computed from the surfaces in the organ file"
                                            : "assumed from the volume alone";
  for (const People people : {People::empty, People::half, People::full}) {
    const RoomDescription description = describe(organ.room, people, context.condition.air);
    const Field field{description};
    out.volume = field.volume();
    RoomWith with;
    with.people = people;
    with.persons = description.persons;
    with.reverberation = field.reverberation();
    with.schroeder = field.schroeder();
    with.critical = field.critical_distance(Hertz{1000});
    for (const PlaceKind place : {PlaceKind::bench, PlaceKind::nave}) {
      RoomWith::At at;
      at.place = place;
      for (std::size_t d = 0; d < organ.divisions.size(); ++d) {
        at.distance = Metres{at.distance.value() + distance_to(organ, place, static_cast<DivisionIndex>(d)).value() /
                                                       static_cast<double>(organ.divisions.size())};
      }
      for (std::size_t b = 0; b < at.strength.size(); ++b) {
        at.strength[b] = field.transfer(Hertz{octave_bands_hz[b]}, at.distance).value() - free_at_10_m;
      }
      with.at.push_back(at);
    }
    out.with.push_back(with);
  }
  out.modal_below = std::max(out.with.front().schroeder, least_modal);
  return out;
}

Result<RoomRecording> measure_room(const std::filesystem::path& response) {
  const auto recorded = read_recorded_response(response);
  if (!recorded) return tl::unexpected(recorded.error());
  auto measures = analyse_response(recorded->samples, recorded->rate);
  if (!measures) return fail(measures.error().message, response.string());
  return RoomRecording{response.string(), recorded->channels, std::move(*measures)};
}

std::vector<std::string> notes_on(const RoomModel* model, const RoomRecording* recording) {
  std::vector<std::string> out;
  if (model != nullptr) {
    out.push_back(
        fmt::format("Below about {:.0f} Hz a church sounds by single resonances: there every figure is a mean over "
                    "places, and one seat may have 10 dB more or less than the next.",
                    model->modal_below.value()));
    if (!model->reverberation_measured) {
      out.push_back(
          "The reverberation was not measured. A balloon burst (at arm's length), recorded in the empty nave, gives "
          "it: calcant room --response FILE.");
    }
  }
  if (recording != nullptr) {
    if (recording->channels > 1) {
      out.push_back(fmt::format("The first of its {} channels was read: for a room the omnidirectional one counts.",
                                recording->channels));
    }
    const auto& bands = recording->measures.bands;
    if (std::any_of(bands.begin(), bands.end(), [](const auto& b) { return b && !b->t20; })) {
      out.push_back("Where T20 or T30 is missing, the recording's noise begins before the decay has gone far enough.");
    }
    if (std::none_of(bands.begin(), bands.end(), [](const auto& b) { return b && b->t20; })) {
      out.push_back(
          "No band decays far enough over its noise for a reverberation time: this may be no impulse response.");
    }
  }
  return out;
}

std::string json_text(const RoomModel* model, const RoomRecording* recording) {
  Json j;
  if (model != nullptr) j["model"] = json(*model);
  if (recording != nullptr) {
    Json r;
    r["file"] = recording->file;
    r["channels"] = recording->channels;
    r["whole"] = json(recording->measures.whole);
    for (std::size_t b = 0; b < octave_bands_hz.size(); ++b) {
      if (!recording->measures.bands[b]) continue;
      Json band;
      band["hz"] = octave_bands_hz[b];
      band.update(json(*recording->measures.bands[b]));
      r["bands"].push_back(std::move(band));
    }
    j["response"] = std::move(r);
  }
  j["notes"] = notes_on(model, recording);
  return dump(j);
}

}  // namespace calcant
