// What the model makes of this church, and what a recorded impulse response says of it after ISO 3382-1.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "engine/room/field.hpp"
#include "engine/room/response_analysis.hpp"
#include "jobs/context.hpp"

namespace calcant {

// The church of one organ as a sound field, with as many people.
struct RoomWith {
  People people = People::empty;
  double persons = 0;
  Bands reverberation{};  // seconds
  Hertz schroeder;        // below it the church sounds by single resonances
  Metres critical;        // where direct and reverberant sound are equal, at 1 kHz
  struct At {
    PlaceKind place = PlaceKind::nave;
    Metres distance;   // the mean over the divisions
    Bands strength{};  // dB: the level there against that of the same source 10 m off in the open (G of ISO 3382-1)
  };
  std::vector<At> at;  // bench, nave
};
struct RoomModel {
  CubicMetres volume;
  bool reverberation_measured = false;  // else computed from surfaces, or assumed from the volume
  std::string from;                     // which of these, in words
  std::vector<RoomWith> with;           // empty, half full, full
  Hertz modal_below;                    // 80 Hz or the empty church's Schroeder frequency, whichever is more
};
[[nodiscard]] RoomModel room_model(const OrganContext& context);

struct RoomRecording {
  std::string file;
  int channels = 1;
  ResponseAnalysis measures;
};
// Refused: what is no sound file, no impulse response (response_analysis.hpp), more than 30 s.
[[nodiscard]] Result<RoomRecording> measure_room(const std::filesystem::path& response);

// What must be said of them, in whole sentences.
[[nodiscard]] std::vector<std::string> notes_on(const RoomModel* model, const RoomRecording* recording);
// Either may be missing.
[[nodiscard]] std::string json_text(const RoomModel* model, const RoomRecording* recording);

}  // namespace calcant
