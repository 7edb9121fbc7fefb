#include "jobs/state_hash.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "jobs/sha256.hpp"
#include "jobs/text_file.hpp"

namespace calcant {
namespace {

constexpr std::size_t file_limit = std::size_t{8} << 20;

std::string overlay_text(const Overlay& o) {
  std::string out = fmt::format("day {}\n", o.day);
  for (const auto& d : o.dead) out += fmt::format("dead {} {}\n", d.rank, d.number);
  for (const auto& s : o.stops_out_of_use) out += fmt::format("out {}\n", s);
  for (const auto& r : o.rank_loudness) out += fmt::format("rank {} {}\n", r.rank, r.value.value);
  for (const auto& p : o.pipe_level) out += fmt::format("level {} {} {}\n", p.rank, p.number, p.value.value);
  for (const auto& p : o.pipe_cents) out += fmt::format("cents {} {} {}\n", p.rank, p.number, p.value.value);
  for (const auto& p : o.pipe_spectrum) {
    out += fmt::format("spectrum {} {} {}\n", p.rank, p.number, fmt::join(p.partials.value, " "));
  }
  if (o.temperature) out += fmt::format("celsius {}\n", o.temperature->value.value());
  return out;
}

}  // namespace

Result<std::string> state_hash(const OrganContext& context) {
  std::vector<std::filesystem::path> files;
  std::error_code fault;
  for (const auto& entry : std::filesystem::directory_iterator(context.folder, fault)) {
    const auto ending = entry.path().extension();
    // A hymn board says nothing of the organ.
    if (entry.path().filename() == "sunday.toml") continue;
    if (entry.is_regular_file(fault) && (ending == ".toml" || ending == ".csv")) files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  std::string all;
  for (const auto& path : files) {
    const auto text = read_text_file(path, file_limit);
    if (!text) return tl::unexpected<Error>(text.error());
    all += fmt::format("{} {}\n", path.filename().string(), sha256(*text));
  }
  return sha256(all + overlay_text(context.day));
}

}  // namespace calcant
