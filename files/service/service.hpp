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
  std::vector<std::string> words;  // a word per verse, or fewer
  std::string score;               // file, relative to the service file
  std::optional<double> tempo;     // crotchets a minute
  std::optional<double> minutes;   // of fill-in music
  std::string when;                // of a voluntary: before, after
  bool double_chant = false;       // of a psalm
  bool gloria = true;
  int line = 0;  // of the file, from 1
};
[[nodiscard]] std::string_view word(ServiceItem::Kind k);

struct Service {
  std::string name;  // "First Sunday in Advent"
  std::string date;  // ISO, or empty
  bool invented = false;
  std::optional<int> singers;
  std::vector<ServiceItem> items;  // never empty
};

// Every fault comes back in one Error, each with its place (`sunday.toml:12:3: ...`); unknown keys are faults and name the
// nearest known one.
[[nodiscard]] Result<Service> read_service(std::string_view text, std::string_view name);

}  // namespace calcant
