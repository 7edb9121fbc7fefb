// A score file of any kind that can be read, told by its content.
#pragma once

#include <filesystem>
#include <string>

#include "engine/score/score.hpp"
#include "files/musicxml/musicxml.hpp"

namespace calcant {

// A score as it was read, with the bytes it was read from: the marked copy is made from those.
struct ReadScore {
  std::filesystem::path path;
  std::string bytes;
  Score score;
  bool musicxml = false;  // else MIDI, which cannot be marked
};

// MusicXML (.musicxml, .xml, .mxl) or a Standard MIDI file. A score without a title is called by its file's name.
[[nodiscard]] Result<ReadScore> read_score(const std::filesystem::path& path, const RoleOverrides& overrides = {});

}  // namespace calcant
