// The scores of an organ folder: music/, and removed/music/ for what was taken out and can be had back.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/result.hpp"

namespace calcant {

struct PieceFile {
  std::string name;  // of the file: "dundee.musicxml"
  std::string title;
  bool musicxml = false;             // else MIDI
  std::string problem;               // why it cannot be read; empty where it can
  std::vector<std::string> remarks;  // of its reading
};

// Names of the files that are scores by their ending (.musicxml, .xml, .mxl, .mid, .midi), in the order of the alphabet.
[[nodiscard]] std::vector<std::string> piece_names(const std::filesystem::path& folder);
// The file of a piece, or an error where there is none of that name. Names are those of piece_names: nothing else is found.
[[nodiscard]] Result<std::filesystem::path> piece_file(const std::filesystem::path& folder, const std::string& name);
[[nodiscard]] PieceFile describe_piece(const std::filesystem::path& folder, const std::string& name);

// Puts a score in; refused when it cannot be read. `name` is a safe file name; where another score bears it already, a
// number is put behind ("dundee-2.musicxml"); the same bytes under the same name are the same piece.
[[nodiscard]] Result<PieceFile> add_piece(const std::filesystem::path& folder, const std::string& name,
                                          std::string_view bytes);
[[nodiscard]] Result<void> take_out_piece(const std::filesystem::path& folder, const std::string& name);
[[nodiscard]] Result<void> put_back_piece(const std::filesystem::path& folder, const std::string& name);

// To engrave: plain MusicXML whose every note bears the id that our answers speak of it by. MIDI has no page.
[[nodiscard]] Result<std::string> engravable(const std::filesystem::path& score);

}  // namespace calcant
