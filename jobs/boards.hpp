// The hymn boards of an organ folder: services/DATE.toml as they are typed, and the folder's own sunday.toml.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "engine/plan/hymn.hpp"
#include "engine/quantity/result.hpp"
#include "files/service/service.hpp"

namespace calcant {

// "2026-11-29", or "sunday" for the folder's own sunday.toml, which is only read.
struct Board {
  std::string service;
  Service content;   // scores by their names in music/ ("dundee.musicxml")
  std::string hash;  // of the file's bytes
  bool read_only = false;
};
struct RowProblem {
  int row = 0;  // from 0
  std::string message;
};

// The file of a board; an error where `service` is neither a date nor "sunday".
[[nodiscard]] Result<std::filesystem::path> board_file(const std::filesystem::path& folder, const std::string& service);
// The board, or an error; is_there tells whether there is one.
[[nodiscard]] bool is_there(const std::filesystem::path& folder, const std::string& service);
[[nodiscard]] Result<Board> read_board(const std::filesystem::path& folder, const std::string& service);
// Writes services/DATE.toml whole, and gives back what it holds then.
[[nodiscard]] Result<Board> write_board(const std::filesystem::path& folder, const std::string& service,
                                        const Service& content);
[[nodiscard]] Result<void> remove_board(const std::filesystem::path& folder, const std::string& service);
// Names of all boards, the latest first, "sunday" last.
[[nodiscard]] std::vector<std::string> boards(const std::filesystem::path& folder);

// What planning would want, row by row: a tune, a number of verses, a key that can be read, a score that is there.
[[nodiscard]] std::vector<RowProblem> problems(const std::filesystem::path& folder, const Service& content);
// What of its words planning would not follow, as the sheet will say it, row by row: "Verse 3: “gentel” is not known, perhaps
// “gentle”". `own` are words of the player's own.
[[nodiscard]] std::vector<RowProblem> words_not_followed(const Service& content, const Wordbook& own);

// Tunes of all boards, the latest use first, each once, with what was typed of them.
[[nodiscard]] std::vector<ServiceItem> known_tunes(const std::filesystem::path& folder);

// Gives a hymn whose tune stands on one of these boards the key and the metre it has there, where none were typed; whether
// it gave any. Names are compared without capitals, points and apostrophes ("st. anne" is St Anne).
bool fill_in_known(Hymn& hymn, const std::filesystem::path& folder);

}  // namespace calcant
