// A TOML text as a tree whose every key and value knows its line and column. Inside this part only: the one
// source that sees the TOML library is toml_tree.cpp.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace calcant::toml_tree {

struct Place {
  int line = 0;    // from 1
  int column = 0;  // from 1, in characters
  friend auto operator<=>(const Place&, const Place&) = default;
};

struct Value;
struct Entry;

struct Value {
  enum class Kind { text, whole, real, truth, list, table, other };
  Kind kind = Kind::other;
  Place place;
  std::string text{};
  std::int64_t whole = 0;
  double real = 0;  // also set for a whole number
  bool truth = false;
  std::vector<Value> list;
  std::vector<Entry> table;  // in the order of the file

  [[nodiscard]] bool number() const { return kind == Kind::whole || kind == Kind::real; }
};

struct Entry {
  std::string key;
  Place place;
  Value value;
};

struct SyntaxFault {
  Place place;
  std::string message;
};

struct Tree {
  Value root;                       // a table
  std::vector<SyntaxFault> faults;  // lines that are no TOML; they were read as if empty
  // Where lines were passed over: the header line (0: before any) of each table that has lost one, and
  // whether a name that others refer to may have gone with it.
  std::vector<int> damaged_headers;
  bool names_lost = false;
};

// Deeper nesting and more faults than these are not followed.
inline constexpr int deepest = 16;
inline constexpr int most_syntax_faults = 24;

[[nodiscard]] Tree parse(std::string_view text);

}  // namespace calcant::toml_tree
