// wishes/*.toml of the organ folder: what the player has fixed, forbidden and named. docs/reference/wishes-file.md lists
// every key. Names of stops, couplers and keyboards are as typed: whoever plans finds them on the organ.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/result.hpp"

namespace calcant {

inline constexpr int wishes_file_version = 1;
inline constexpr int most_standing = 60;  // as many items as a board has
inline constexpr std::size_t wishes_file_limit = std::size_t{256} << 10;
inline constexpr std::size_t longest_wish =
    300;  // bytes of a text; longer ones are cut when written. A registration's: longest_draw

// Where in which item: a verse (0: the play-over), or a bar of a piece, with page and system in a copy on paper; where
// none is said: all of it.
struct WishPlace {
  std::string item;  // number, tune or title, as on the hymn board
  int standing = 0;  // where it stands there more than once: the first, the second...; 0: each of them
  std::optional<int> verse;
  std::string section;  // "Gloria"
  int page = 0;         // 0: not said
  int system = 0;       // of the page, from the top
  std::string bar;
  double beat = 1;
  int time = 1;  // through a bar that is repeated
  int line = 0;  // of the file, from 1
};

struct ForbiddenKnob {
  std::string knob;
  std::string item;  // empty: everywhere
  int line = 0;
};
struct NamedWord {
  std::string word;
  std::optional<double> level;  // 0 to 1
  double colour = 0;            // -1 darker, +1 brighter
  int line = 0;
};
struct VerseWord {
  WishPlace place;
  std::string word;
};
struct FixedRegistration {
  WishPlace place;
  std::string draw;
  std::string right;  // keyboards; empty: as usual
  std::string left;
  bool pedal = true;
};
struct FixedChange {
  WishPlace place;
  int after_line = 0;      // of the verse; 0: where the verse begins
  bool as_before = false;  // nothing is moved there
  std::string draw;
  std::string put_in;
  std::optional<double> box;
  std::string right;  // keyboards; empty: as they were
  std::string left;
  std::string why;
};
struct FixedFootMark {
  std::string item;
  std::string mark;  // "bar 12, beat 2: left toe", as in a feet file
  int line = 0;
};

struct WishesFile {
  std::vector<ForbiddenKnob> forbidden;
  std::vector<NamedWord> words;
  std::vector<VerseWord> verses;
  std::vector<FixedRegistration> fixed;
  std::vector<FixedChange> changes;
  std::vector<FixedFootMark> feet;
};

// Every fault comes back in one Error, each with its place; unknown keys are faults and name the nearest known one; a newer
// version is refused.
[[nodiscard]] Result<WishesFile> read_wishes(std::string_view text, std::string_view name);

// As a file that read_wishes gives back again (lines apart; what was written only for the reader is not kept).
[[nodiscard]] std::string write_wishes(const WishesFile& wishes);

}  // namespace calcant
