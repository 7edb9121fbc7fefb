#include "jobs/state_hash.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "jobs/sha256.hpp"
#include "jobs/text_file.hpp"

namespace calcant {
namespace {

constexpr std::size_t file_limit = std::size_t{8} << 20;

// What holds of the organ of the day, whatever was measured.
std::string day_text(const Overlay& o) {
  std::string out = fmt::format("day {}\n", o.day);
  for (const auto& d : o.dead) out += fmt::format("dead {} {}\n", d.rank, d.number);
  for (const auto& s : o.stops_out_of_use) out += fmt::format("out {}\n", s);
  for (const auto& c : o.couplers) out += fmt::format("coupler {} {} {}\n", c.through, c.carried, c.carries);
  if (o.temperature) out += fmt::format("celsius {}\n", o.temperature->value.value());
  return out;
}

// What was measured of pipes and ranks: of this rank, or of all.
std::string figures_text(const Overlay& o, const std::string* rank) {
  const auto meant = [rank](const auto& figure) { return rank == nullptr || figure.rank == *rank; };
  std::string out;
  for (const auto& r : o.rank_loudness)
    if (meant(r)) out += fmt::format("rank {} {}\n", r.rank, r.value.value);
  for (const auto& p : o.pipe_level)
    if (meant(p)) out += fmt::format("level {} {} {}\n", p.rank, p.number, p.value.value);
  for (const auto& p : o.pipe_cents)
    if (meant(p)) out += fmt::format("cents {} {} {}\n", p.rank, p.number, p.value.value);
  for (const auto& p : o.pipe_spectrum)
    if (meant(p)) out += fmt::format("spectrum {} {} {}\n", p.rank, p.number, fmt::join(p.partials.value, " "));
  return out;
}

Result<std::string> files_text(const OrganContext& context) {
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
  return all;
}

}  // namespace

Result<std::string> state_hash(const OrganContext& context) {
  const auto files = files_text(context);
  if (!files) return files;
  return sha256(*files + day_text(context.day) + figures_text(context.day, nullptr));
}

Result<std::string> unmeasured_hash(const OrganContext& context) {
  const auto files = files_text(context);
  if (!files) return files;
  return sha256(*files + day_text(context.day));
}

std::string measured_hash(const OrganContext& context, const std::string& rank) {
  return sha256(figures_text(context.day, &rank));
}

}  // namespace calcant
