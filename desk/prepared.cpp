#include "desk/prepared.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <stdio.h>

#include <set>
#include <sstream>

#include "jobs/state_hash.hpp"
#include "jobs/text_file.hpp"

namespace calcant::desk {
namespace {

namespace fs = std::filesystem;
constexpr const char* stamp = ".made-from";
constexpr std::size_t stamp_limit = std::size_t{64} << 10;
constexpr std::size_t file_limit = std::size_t{64} << 20;

// At no moment is there neither the old nor the new.
Result<void> put_in_place(const fs::path& made, const fs::path& place) {
  std::error_code fault;
  if (!fs::exists(place, fault)) {
    fs::rename(made, place, fault);
  } else if (::renameat2(AT_FDCWD, made.c_str(), AT_FDCWD, place.c_str(), RENAME_EXCHANGE) == 0) {
    fs::remove_all(made, fault);
    return {};
  } else {  // a file system that cannot exchange
    const fs::path old = made.string() + ".old";
    fs::rename(place, old, fault);
    if (!fault) fs::rename(made, place, fault);
    std::error_code none;
    fs::remove_all(old, none);
  }
  if (fault) return fail(fmt::format("What was made cannot be put in its place: {}.", fault.message()), place.string());
  return {};
}

// What it was made from: a hash, and of each rank that is drawn in it what was measured of that.
std::string stamp_text(const OrganContext& context, const Plan& plan, const std::string& made_from) {
  std::set<std::string> ranks;
  const auto use = [&](const Registration& r) {
    for (std::size_t s = 0; s < context.organ.stops.size(); ++s) {
      if (!r.stops.test(s)) continue;
      for (const StopPart& part : context.organ.stops[s].parts)
        ranks.insert(context.organ.ranks[static_cast<std::size_t>(part.rank)].id);
    }
  };
  Registration now = plan.initial;
  use(now);
  for (const Cue& cue : plan.cues) use(now = after(now, cue));
  std::string out = made_from + "\n";
  for (const std::string& rank : ranks) out += fmt::format("{} {}\n", rank, measured_hash(context, rank));
  return out;
}

}  // namespace

fs::path prepared_service(const Desk& desk, const std::string& service) { return desk.folder() / "prepared" / service; }
fs::path prepared_piece(const Desk& desk, const std::string& piece) {
  return desk.folder() / "prepared" / "music" / piece;
}

bool is_prepared(const fs::path& place) {
  std::error_code none;
  return fs::exists(place / "plan.json", none);
}

std::string how_prepared(const fs::path& place, const std::string& made_from, const OpenOrgan* organ) {
  if (!is_prepared(place)) return "no";
  const auto text = read_text_file(place / stamp, stamp_limit);
  if (!text || organ == nullptr) return "old";
  std::istringstream lines{*text};
  std::string first;
  if (!std::getline(lines, first) || first != made_from) return "old";
  for (std::string rank, hash; lines >> rank >> hash;) {
    if (hash != measured_hash(organ->context, rank)) return "old";
  }
  return "yes";
}

Result<std::string> prepare_in_place(const Desk& desk, const OrganContext& context, PrepareRequest request,
                                     const fs::path& place, const std::string& made_from, const Work& work) {
  if (auto made = make_folder(place.parent_path()); !made) return tl::unexpected<Error>(made.error());
  std::string scratch = (place.parent_path() / ".making-XXXXXX").string();
  if (::mkdtemp(scratch.data()) == nullptr) return fail("The folder prepared/ cannot be written.", place.string());
  struct Removed {
    fs::path path;
    ~Removed() {
      std::error_code none;
      fs::remove_all(path, none);
    }
  } const removed{scratch};
  fs::permissions(scratch, fs::perms::owner_all | fs::perms::group_read | fs::perms::group_exec |
                               fs::perms::others_read | fs::perms::others_exec);
  request.out = scratch;
  auto prepared = prepare(context, request, work);
  if (!prepared) return tl::unexpected<Error>(prepared.error());
  if (work.stop.stop_requested()) return fail("Stopped.");
  if (auto stamped = write_text_file(fs::path{scratch} / stamp, stamp_text(context, prepared->file.plan, made_from));
      !stamped) {
    return tl::unexpected<Error>(stamped.error());
  }
  if (auto put = put_in_place(scratch, place); !put) return tl::unexpected<Error>(put.error());
  const fs::path shown = fs::relative(place, desk.folder());
  for (auto& w : prepared->written) w.path = shown / w.path.filename();
  return json_text(context, *prepared);
}

tl::expected<std::string, Why> prepared_file(const fs::path& place, const char* name) {
  std::error_code none;
  if (!fs::exists(place / name, none)) {
    return why(404, is_prepared(place) ? "There is no such file for this; a score is wanted for it."
                                       : "Nothing has been prepared here yet.");
  }
  auto text = read_text_file(place / name, file_limit);
  if (!text) return why(500, text.error());
  return std::move(*text);
}

}  // namespace calcant::desk
