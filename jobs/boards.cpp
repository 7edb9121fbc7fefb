#include "jobs/boards.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <set>

#include "engine/plan/verse.hpp"
#include "jobs/context.hpp"
#include "jobs/hymn_words.hpp"
#include "jobs/sha256.hpp"
#include "jobs/text_file.hpp"

namespace calcant {
namespace {

constexpr const char* own_board = "sunday";

// Scores stand in music/; a board names them from where it stands itself.
std::string to_music(const std::string& service) { return service == own_board ? "music/" : "../music/"; }

void scores_by_name(Service& content, const std::string& service) {
  const std::string to = to_music(service);
  for (ServiceItem& i : content.items) {
    if (i.score.starts_with(to)) i.score.erase(0, to.size());
  }
}

std::string folded(std::string text) {
  for (char& c : text) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return text;
}

std::string tune_name(const std::string& text) {
  std::string out;
  for (const char c : folded(text)) {
    if (std::isalnum(static_cast<unsigned char>(c)) != 0 || static_cast<unsigned char>(c) >= 0x80) out += c;
  }
  return out;
}

// What is wrong with one row; empty where it can be planned.
std::string problem(const std::filesystem::path& folder, const ServiceItem& i) {
  const bool sung = i.kind == ServiceItem::Kind::hymn || i.kind == ServiceItem::Kind::psalm;
  const bool named = !i.title.empty() || !i.score.empty();
  std::error_code none;
  if (i.kind == ServiceItem::Kind::hymn && !named) return "The tune is missing.";
  if (i.kind == ServiceItem::Kind::voluntary && !named) return "The title is missing.";
  if (!i.score.empty() && !std::filesystem::exists(folder / "music" / i.score, none)) {
    return fmt::format("There is no score {} in music/.", i.score);
  }
  for (std::size_t p = 0; p < i.places.size(); ++p) {
    if (i.places[p].page == 0 && i.places[p].bar.empty())
      return fmt::format("Place {} in the copy: on which page, or at which bar?", p + 1);
  }
  if (!sung) return "";
  if (i.verses == 0 && i.words.empty()) return "How many verses?";
  if (i.verses > 0 && static_cast<int>(i.words.size()) > i.verses) {
    return fmt::format("There are {} words for {} verses.", i.words.size(), i.verses);
  }
  Hymn h;
  if (!i.key.empty()) {
    if (const auto set = set_key(h, i.key); !set) return set.error().message;
  }
  if (!i.metre.empty()) {
    if (const auto set = set_metre(h, i.metre); !set) return set.error().message;
  }
  if (!i.play_over.empty()) {
    if (const auto over = parse_play_over(i.play_over); !over) return over.error().message;
  }
  return "";
}

}  // namespace

Result<std::filesystem::path> board_file(const std::filesystem::path& folder, const std::string& service) {
  if (service == own_board) return folder / "sunday.toml";
  const auto date = parse_date(service);
  if (!date) return fail(date.error().message, "service");
  return folder / "services" / (*date + ".toml");
}

bool is_there(const std::filesystem::path& folder, const std::string& service) {
  std::error_code none;
  const auto file = board_file(folder, service);
  return file && std::filesystem::exists(*file, none);
}

Result<Board> read_board(const std::filesystem::path& folder, const std::string& service) {
  const auto file = board_file(folder, service);
  if (!file) return tl::unexpected<Error>(file.error());
  const auto text = read_text_file(*file, service_file_limit);
  if (!text) return tl::unexpected<Error>(text.error());
  auto content = read_service(*text, file->filename().string(), Completeness::as_typed);
  if (!content) return tl::unexpected<Error>(content.error());
  Board board{service, std::move(*content), sha256(*text), service == own_board};
  scores_by_name(board.content, service);
  return board;
}

Result<Board> write_board(const std::filesystem::path& folder, const std::string& service, const Service& content) {
  const auto file = board_file(folder, service);
  if (!file) return tl::unexpected<Error>(file.error());
  if (service == own_board) return fail("sunday.toml is written by hand; type a board under a date.", "service");
  Service written = content;
  written.date = service;
  for (ServiceItem& i : written.items) {
    if (!i.score.empty()) i.score = to_music(service) + i.score;
  }
  if (auto made = make_folder(file->parent_path()); !made) return tl::unexpected<Error>(made.error());
  const std::string text =
      "# A hymn board, as typed at the desk; it may be edited here too.\n" + write_service(written);
  // Never a file that could not be read again.
  if (auto right = read_service(text, file->filename().string(), Completeness::as_typed); !right) {
    return tl::unexpected<Error>(right.error());
  }
  if (auto put = write_text_file(*file, text); !put) return tl::unexpected<Error>(put.error());
  return read_board(folder, service);
}

Result<void> remove_board(const std::filesystem::path& folder, const std::string& service) {
  const auto file = board_file(folder, service);
  if (!file) return tl::unexpected<Error>(file.error());
  if (service == own_board) return fail("sunday.toml is the folder's own, and stays.", "service");
  std::error_code fault;
  if (!std::filesystem::remove(*file, fault) || fault) return fail("There is no board for that day.", "service");
  return {};
}

std::vector<std::string> boards(const std::filesystem::path& folder) {
  std::vector<std::string> out;
  std::error_code none;
  for (const auto& entry : std::filesystem::directory_iterator(folder / "services", none)) {
    const std::string stem = entry.path().stem().string();
    if (entry.path().extension() == ".toml" && parse_date(stem)) out.push_back(stem);
  }
  std::sort(out.rbegin(), out.rend());
  if (is_there(folder, own_board)) out.emplace_back(own_board);
  return out;
}

std::vector<RowProblem> problems(const std::filesystem::path& folder, const Service& content) {
  std::vector<RowProblem> out;
  for (std::size_t i = 0; i < content.items.size(); ++i) {
    if (auto p = problem(folder, content.items[i]); !p.empty()) out.push_back({static_cast<int>(i), std::move(p)});
  }
  return out;
}

std::vector<RowProblem> words_not_followed(const Service& content, const Wordbook& own) {
  std::vector<RowProblem> out;
  int row = 0;
  const auto read = [&](const std::string& where, std::string_view text) {
    const Verse verse = parse_verse(text, own);
    for (const std::string& note : {verse.note, verse.second_note}) {
      if (!note.empty()) out.push_back({row, where.empty() ? note : fmt::format("{}: {}", where, note)});
    }
  };
  for (const ServiceItem& i : content.items) {
    read("Play-over", i.play_over_word);
    for (std::size_t v = 0; v < i.words.size(); ++v) {
      read(i.words.size() == 1 ? std::string{} : fmt::format("Verse {}", v + 1), i.words[v]);
    }
    for (const PaperPlace& p : i.places) read(words(p), p.word);
    ++row;
  }
  return out;
}

std::vector<ServiceItem> known_tunes(const std::filesystem::path& folder) {
  std::vector<ServiceItem> out;
  std::set<std::string> seen;
  for (const std::string& service : boards(folder)) {
    const auto board = read_board(folder, service);
    if (!board) continue;  // a board somebody broke by hand is told of on its own page
    for (const ServiceItem& i : board->content.items) {
      const bool sung = i.kind == ServiceItem::Kind::hymn || i.kind == ServiceItem::Kind::psalm;
      if (sung && !i.title.empty() && seen.insert(folded(i.title)).second) out.push_back(i);
    }
  }
  return out;
}

bool fill_in_known(Hymn& hymn, const std::filesystem::path& folder) {
  if (!hymn.key.empty() && !hymn.metre.empty()) return false;
  const std::string wanted = tune_name(hymn.tune);
  for (const ServiceItem& known : known_tunes(folder)) {
    if (known.kind != ServiceItem::Kind::hymn || tune_name(known.title) != wanted) continue;
    // A board somebody mistyped gives nothing.
    const bool key = hymn.key.empty() && !known.key.empty() && set_key(hymn, known.key);
    const bool metre = hymn.metre.empty() && !known.metre.empty() && set_metre(hymn, known.metre);
    return key || metre;
  }
  return false;
}

}  // namespace calcant
