#include "desk/desk.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "jobs/faults.hpp"
#include "jobs/state_hash.hpp"

namespace calcant::desk {
namespace {

constexpr std::size_t most_organs = 8;  // dates and temperatures asked about at a time
constexpr std::uint64_t most_sounds = 48;

std::string run_name(std::uint64_t run) { return fmt::format("{:x}", run & 0xFFFFFFFFU); }

std::string key_of(const Asked& asked) {
  return fmt::format("{} {} {} {} {}", asked.on.value_or("-"),
                     asked.temperature ? fmt::format("{}", asked.temperature->value()) : "-",
                     static_cast<int>(asked.place), static_cast<int>(asked.people), asked.as_found);
}

}  // namespace

Desk::Desk(DeskSettings settings)
    : settings_(std::move(settings)),
      events_(settings_.run),
      tasks_({.threads = settings_.threads, .run = run_name(settings_.run)}, events_) {}

// Editors and other programs change files too, so what is kept is checked by the files each time: a few microseconds.
std::string Desk::files_now() const {
  std::string out;
  std::error_code none;
  for (const auto& entry : std::filesystem::directory_iterator(settings_.folder, none)) {
    const std::string ending = entry.path().extension().string();
    if (ending != ".toml" && ending != ".csv" && !entry.path().filename().string().starts_with("organ.book")) continue;
    if (entry.path().filename() == "organ.book-shm") continue;  // SQLite's own, touched by reading
    const auto time = entry.last_write_time(none).time_since_epoch().count();
    out += fmt::format("{} {} {}\n", entry.path().filename().string(), entry.file_size(none), time);
  }
  return out;
}

Result<std::shared_ptr<const OpenOrgan>> Desk::organ(const Asked& asked) {
  const std::string key = key_of(asked);
  const std::lock_guard lock{opening_};
  const std::string files = files_now();
  std::erase_if(kept_, [&](const Kept& k) { return k.files != files; });
  const auto found = std::find_if(kept_.begin(), kept_.end(), [&](const Kept& k) { return k.asked == key; });
  if (found != kept_.end()) {
    std::rotate(kept_.begin(), found, found + 1);
    return kept_.front().organ;
  }
  auto context = open_organ(settings_.folder, asked);
  if (!context) return tl::unexpected<Error>(in_folder(context.error()));
  auto open = std::make_shared<OpenOrgan>();
  auto hash = state_hash(*context);
  if (!hash) return tl::unexpected<Error>(hash.error());
  open->hash = std::move(*hash);
  auto unmeasured = unmeasured_hash(*context);
  if (!unmeasured) return tl::unexpected<Error>(unmeasured.error());
  open->unmeasured = std::move(*unmeasured);
  open->context = std::move(*context);
  // By the files as they were before: what has changed since is seen the next time.
  kept_.insert(kept_.begin(), {key, files, open});
  if (kept_.size() > most_organs) kept_.pop_back();
  return kept_.front().organ;
}

Result<std::shared_ptr<AskedRegistrant>> Desk::registrant(const Asked& asked) {
  const auto open = organ(asked);
  if (!open) return tl::unexpected<Error>(open.error());
  return registrants_.of(key_of(asked), *open);
}

Error Desk::in_folder(Error e) const {
  const std::string whole = settings_.folder.string();
  for (std::string* text : {&e.message, &e.where}) {
    for (std::size_t at = text->find(whole); at != std::string::npos; at = text->find(whole, at)) {
      const bool file = text->compare(at + whole.size(), 1, "/") == 0;
      text->replace(at, whole.size() + (file ? 1 : 0), file ? "" : settings_.folder.filename().string());
    }
  }
  return e;
}

Result<std::string> Desk::start(std::string kind, std::string title, Tasks::Job job) {
  return tasks_.start(std::move(kind), std::move(title), [this, job = std::move(job)](const Work& work) {
    auto made = job(work);
    if (!made) made.error() = in_folder(std::move(made.error()));
    return made;
  });
}

// One at a time: the first to open a new or an older book makes its tables.
Result<Book> Desk::book(const OrganContext& context) {
  const std::lock_guard lock{booking_};
  return open_book(context);
}

PieceFile Desk::piece(const std::string& name) {
  std::error_code none;
  const auto path = folder() / "music" / name;
  const std::string state = fmt::format("{} {}", std::filesystem::file_size(path, none),
                                        std::filesystem::last_write_time(path, none).time_since_epoch().count());
  {
    const std::lock_guard lock{pieces_mutex_};
    const auto found = pieces_.find(name);
    if (found != pieces_.end() && found->second.first == state) return found->second.second;
  }
  PieceFile read = describe_piece(folder(), name);
  const std::lock_guard lock{pieces_mutex_};
  pieces_[name] = {state, read};
  return read;
}

void Desk::changed(const std::vector<std::string_view>& what) {
  std::string list;
  for (const std::string_view w : what) list += fmt::format("{}\"{}\"", list.empty() ? "" : ",", w);
  events_.tell("changed", fmt::format("{{\"changed\":[{}]}}", list));
}

std::pair<std::string, std::filesystem::path> Desk::new_sound() {
  const std::lock_guard lock{sounds_mutex_};
  const std::string run = run_name(settings_.run);
  const std::uint64_t number = ++sounds_made_;
  if (number > most_sounds) {
    std::error_code none;
    std::filesystem::remove(sound_path(fmt::format("{}-{}", run, number - most_sounds)), none);
  }
  std::string id = fmt::format("{}-{}", run, number);
  auto path = sound_path(id);
  return {std::move(id), std::move(path)};
}

std::filesystem::path Desk::sound_path(const std::string& id) const { return settings_.sounds / (id + ".flac"); }

}  // namespace calcant::desk
