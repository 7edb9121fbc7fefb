#include "jobs/read_score.hpp"

#include <cctype>

#include "files/midi/midi.hpp"
#include "jobs/text_file.hpp"

namespace calcant {
namespace {
constexpr std::size_t score_limit = std::size_t{64} << 20;
}

Result<ReadScore> read_score(const std::filesystem::path& path, const RoleOverrides& overrides) {
  auto bytes = read_text_file(path, score_limit);
  if (!bytes) return tl::unexpected<Error>(bytes.error());
  ReadScore r;
  r.path = path;
  r.bytes = std::move(*bytes);
  const std::string name = path.filename().string();
  if (r.bytes.empty()) return fail("The file is empty.", name);
  std::string kind = path.extension().string();
  for (char& c : kind) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  // By what it holds; what holds neither is told what its name says.
  const bool midi = r.bytes.starts_with("MThd") || kind == ".mid" || kind == ".midi";
  if (kind == ".mxl" && !r.bytes.starts_with("PK") && !r.bytes.starts_with("<")) {
    return fail("This is no packed MusicXML (.mxl): the file is damaged, or of another kind.", name);
  }
  auto score = midi ? read_midi(r.bytes, name, overrides) : read_musicxml(r.bytes, name, overrides);
  if (!score) return tl::unexpected<Error>(score.error());
  r.score = std::move(*score);
  r.musicxml = !midi;
  if (r.score.title.empty()) r.score.title = path.stem().string();
  return r;
}

}  // namespace calcant
