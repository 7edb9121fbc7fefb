// sunday.toml: the hymn board. What is played at a service, in order, as an organist would say it.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/result.hpp"

namespace calcant {

inline constexpr int service_file_version = 1;
inline constexpr std::size_t service_file_limit = std::size_t{256} << 10;
inline constexpr std::size_t most_items = 60;
inline constexpr int most_verses = 60;
inline constexpr std::size_t most_places = 60;  // of a piece from paper
inline constexpr std::size_t most_cuts = 12;
inline constexpr int most_pages = 999;
inline constexpr int most_systems = 30;       // of a page
inline constexpr double longest_rest = 600;   // seconds
inline constexpr double least_minutes = 0.1;  // of music that fills a time
inline constexpr double most_minutes = 120;

// A place in a copy on paper, and what is wanted from there on.
struct PaperPlace {
  int page = 0;                // 0: not said
  int system = 0;              // of the page, from the top
  std::string bar;             // as numbered in the copy, or of the system
  std::string word;            // "mf", "soft": empty: as before
  std::optional<double> rest;  // seconds the hands are free before it; nothing: not known

  friend bool operator==(const PaperPlace&, const PaperPlace&) = default;
};
[[nodiscard]] std::string words(const PaperPlace& p);  // "p. 2, system 3, bar 41"

// One line of the board. Texts are as typed: their meaning (metre, key, words for a verse) is checked by whoever plans.
struct ServiceItem {
  enum class Kind { hymn, psalm, voluntary, fill, note };
  Kind kind = Kind::hymn;
  std::string number;
  std::string title;  // tune, chant or piece
  std::string key;
  std::string metre;               // or the number of lines
  int verses = 0;                  // 0: not said
  std::string bass;                // feet, hands, both; empty: as usual
  std::string play_over;           // first line, last line, both, whole, none
  std::string play_over_word;      // how the play-over wants to sound; empty: as verse 1
  std::vector<std::string> words;  // a word per verse, or fewer; "gentle | full" for the halves of a psalm's verse
  std::string score;               // file, relative to the service file
  std::optional<double> tempo;     // crotchets a minute
  std::optional<double> minutes;   // of fill-in music, or of a piece from paper
  std::vector<PaperPlace> places;  // of a piece from paper
  std::vector<std::string> cuts;   // where it can be cut or ended, as it is to be read
  std::string note;                // to be given before it: "G", "A flat"
  std::string when;                // of a voluntary: before, after
  bool double_chant = false;       // of a psalm
  bool gloria = true;
  int line = 0;  // of the file, from 1

  friend bool operator==(const ServiceItem&, const ServiceItem&) = default;
};
[[nodiscard]] std::string_view word(ServiceItem::Kind k);

struct Service {
  std::string name;  // "First Sunday in Advent"
  std::string date;  // ISO, or empty
  bool invented = false;
  std::optional<int> singers;
  std::vector<ServiceItem> items;  // never empty, unless it is still being typed
};

// as_typed: a board that is still being typed, where rows may lack what planning needs and may be none at all.
enum class Completeness { required, as_typed };
// Every fault comes back in one Error, each with its place (`sunday.toml:12:3: ...`); unknown keys are faults and name the
// nearest known one.
[[nodiscard]] Result<Service> read_service(std::string_view text, std::string_view name,
                                           Completeness completeness = Completeness::required);

// As a file that read_service gives back again (lines apart). Texts longer than 300 bytes are cut.
[[nodiscard]] std::string write_service(const Service& service);

}  // namespace calcant
