// Which pipes sound for a registration and keys held down, with their notes, true pitch and reasons.
#pragma once

#include <string>
#include <vector>

#include "engine/organ/registration.hpp"
#include "engine/organ/sounding.hpp"
#include "jobs/context.hpp"

namespace calcant {

struct Sounded {
  Registration drawn;
  KeysDown down;
  struct Pipe {
    SoundingPipe reasons;
    Note note;        // its own nominal sounding note; of a mutation the nearest
    Hertz frequency;  // its true pitch at the temperature
  };
  std::vector<Pipe> pipes;  // by rank, then number
  struct Missing {
    MissingPipe reasons;
    Note note;  // the note the missing pipe would sound
  };
  std::vector<Missing> missing;
  Celsius temperature;
};

// `draw` and `keys` as files/words reads them.
[[nodiscard]] Result<Sounded> what_sounds(const OrganContext& context, const std::string& draw,
                                          const std::string& keys);
[[nodiscard]] std::string json_text(const OrganContext& context, const Sounded& sounded);

}  // namespace calcant
