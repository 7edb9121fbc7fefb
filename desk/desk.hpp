// What the routes work on: one organ folder, its organ kept open, its tasks and events.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

#include "book/book.hpp"
#include "desk/events.hpp"
#include "desk/guard.hpp"
#include "desk/registrants.hpp"
#include "desk/tasks.hpp"
#include "jobs/context.hpp"
#include "jobs/pieces.hpp"

namespace calcant::desk {

struct DeskSettings {
  std::filesystem::path folder;        // must exist
  std::filesystem::path sounds;        // made in this run, gone after it
  std::string version;                 // of the program
  std::function<std::string()> today;  // the date
  int threads = 1;
  std::uint64_t run = 1;  // from the clock: larger than that of every earlier run
  Keys keys;
};

// An organ as one request sees it: kept as long as somebody uses it, though the folder change meanwhile.
struct OpenOrgan {
  OrganContext context;
  std::string hash;        // of the files and of what the day lays over them
  std::string unmeasured;  // the same without what was measured of its pipes
};

class Desk {
 public:
  explicit Desk(DeskSettings settings);

  [[nodiscard]] const std::filesystem::path& folder() const { return settings_.folder; }
  [[nodiscard]] const DeskSettings& settings() const { return settings_; }
  [[nodiscard]] std::string today() const { return settings_.today(); }
  [[nodiscard]] Tasks& tasks() { return tasks_; }
  [[nodiscard]] Events& events() { return events_; }

  // The organ under these conditions: opened once, and again when a file of the folder has changed, by whomever.
  [[nodiscard]] Result<std::shared_ptr<const OpenOrgan>> organ(const Asked& asked = {});

  // Who answers wishes for the organ under these conditions.
  [[nodiscard]] Result<std::shared_ptr<AskedRegistrant>> registrant(const Asked& asked);

  // Files are called by their place in the folder: where that stands is nobody's concern but its owner's.
  [[nodiscard]] Error in_folder(Error e) const;
  // Tasks::start, with errors told so.
  [[nodiscard]] Result<std::string> start(std::string kind, std::string title, Tasks::Job job);

  // The organ's book, made where there is none.
  [[nodiscard]] Result<Book> book(const OrganContext& context);

  // A piece of music/ as it was read, once for each state of its file.
  [[nodiscard]] PieceFile piece(const std::string& name);

  // Held by whoever changes a file of the folder.
  [[nodiscard]] std::mutex& changing() { return changing_; }
  // Tells all tabs what has changed: {"faults"}.
  void changed(const std::vector<std::string_view>& what);

  // A new place among the sounds of this run, "ab12-3"; the oldest beyond a few dozen go.
  [[nodiscard]] std::pair<std::string, std::filesystem::path> new_sound();
  [[nodiscard]] std::filesystem::path sound_path(const std::string& id) const;

 private:
  struct Kept {
    std::string asked;
    std::string files;  // names, sizes and times of the files it was opened from
    std::shared_ptr<const OpenOrgan> organ;
  };
  [[nodiscard]] std::string files_now() const;

  DeskSettings settings_;
  Events events_;
  Tasks tasks_;
  std::mutex changing_;
  std::mutex opening_;
  std::mutex booking_;
  std::vector<Kept> kept_;  // the latest first
  Registrants registrants_;
  std::mutex pieces_mutex_;
  std::map<std::string, std::pair<std::string, PieceFile>>
      pieces_;  // by name: size and time of the file, and what it is
  std::mutex sounds_mutex_;
  std::uint64_t sounds_made_ = 0;
};

}  // namespace calcant::desk
