#include "jobs/pieces.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "files/musicxml/marked.hpp"
#include "jobs/read_score.hpp"
#include "jobs/text_file.hpp"

namespace calcant {
namespace {

namespace fs = std::filesystem;
constexpr std::array<std::string_view, 5> endings{".musicxml", ".xml", ".mxl", ".mid", ".midi"};
constexpr std::size_t score_limit = std::size_t{64} << 20;

bool is_score(const fs::path& path) {
  std::string ending = path.extension().string();
  for (char& c : ending) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return std::find(endings.begin(), endings.end(), ending) != endings.end();
}

// A plain name: what stands beside nothing but itself.
bool plain(const std::string& name) {
  return !name.empty() && name.front() != '.' && name.find_first_of("/\\") == std::string::npos && is_score(name);
}

Result<void> move_file(const fs::path& from, const fs::path& to) {
  if (auto made = make_folder(to.parent_path()); !made) return made;
  std::error_code fault;
  if (!fs::is_regular_file(from, fault)) return fail("There is no such piece.", from.filename().string());
  fs::rename(from, to, fault);
  if (fault) return fail(fmt::format("It cannot be moved: {}.", fault.message()), from.filename().string());
  return {};
}

}  // namespace

std::vector<std::string> piece_names(const fs::path& folder) {
  std::vector<std::string> out;
  std::error_code none;
  for (const auto& entry : fs::directory_iterator(folder / "music", none)) {
    if (entry.is_regular_file(none) && plain(entry.path().filename().string())) {
      out.push_back(entry.path().filename().string());
    }
  }
  std::sort(out.begin(), out.end());
  return out;
}

Result<fs::path> piece_file(const fs::path& folder, const std::string& name) {
  std::error_code none;
  const fs::path path = folder / "music" / name;
  if (!plain(name) || !fs::is_regular_file(path, none)) return fail("There is no such piece in music/.", "piece");
  return path;
}

PieceFile describe_piece(const fs::path& folder, const std::string& name) {
  PieceFile piece;
  piece.name = name;
  const auto read = read_score(folder / "music" / name);
  if (!read) {
    piece.title = name;
    piece.problem = read.error().message;
    return piece;
  }
  piece.title = read->score.title;
  piece.musicxml = read->musicxml;
  piece.remarks = read->score.remarks;
  return piece;
}

Result<PieceFile> add_piece(const fs::path& folder, const std::string& name, std::string_view bytes) {
  if (!plain(name)) return fail("A score is a file that ends in .musicxml, .xml, .mxl, .mid or .midi.", "name");
  const fs::path music = folder / "music";
  if (auto made = make_folder(music); !made) return tl::unexpected<Error>(made.error());
  const fs::path wanted{name};
  fs::path path = music / wanted;
  std::error_code none;
  for (int n = 2; fs::exists(path, none); ++n) {
    if (const auto there = read_text_file(path, score_limit); there && *there == bytes) {
      return describe_piece(folder, path.filename().string());
    }
    path = music / fmt::format("{}-{}{}", wanted.stem().string(), n, wanted.extension().string());
  }
  if (auto written = write_text_file(path, bytes); !written) return tl::unexpected<Error>(written.error());
  PieceFile piece = describe_piece(folder, path.filename().string());
  if (!piece.problem.empty()) {
    fs::remove(path, none);
    return fail(piece.problem, name);
  }
  return piece;
}

Result<void> take_out_piece(const fs::path& folder, const std::string& name) {
  const auto path = piece_file(folder, name);
  if (!path) return tl::unexpected<Error>(path.error());
  return move_file(*path, folder / "removed" / "music" / name);
}

Result<void> put_back_piece(const fs::path& folder, const std::string& name) {
  std::error_code none;
  if (!plain(name)) return fail("There is no such piece.", "piece");
  if (fs::exists(folder / "music" / name, none)) return fail("There is a piece of that name in music/ now.", "piece");
  return move_file(folder / "removed" / "music" / name, folder / "music" / name);
}

Result<std::string> engravable(const fs::path& score) {
  const auto read = read_score(score);
  if (!read) return tl::unexpected<Error>(read.error());
  if (!read->musicxml) return fail("A MIDI file has no page to engrave; give the score as MusicXML.", score.filename());
  return musicxml::write_marked(read->bytes, {});
}

}  // namespace calcant
