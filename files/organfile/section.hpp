// Reading a tree of keys and values with every fault told: one Section a table. Inside this part only.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/bands.hpp"
#include "engine/quantity/nearest.hpp"
#include "engine/quantity/note.hpp"
#include "engine/quantity/note_set.hpp"
#include "engine/quantity/sourced.hpp"
#include "files/organfile/fault.hpp"
#include "files/organfile/toml_tree.hpp"

namespace calcant::organ_toml {

using toml_tree::Place;
using toml_tree::Value;

// The faults of one file, and its lines to show them by.
class Faults {
 public:
  Faults(std::string_view text, std::string_view file);
  void add(Place at, std::string message);
  [[nodiscard]] bool empty() const { return faults_.empty(); }
  // In the order of the file.
  [[nodiscard]] std::vector<Fault> sorted() const;

 private:
  std::vector<std::string> lines_;
  std::string file_;
  std::vector<Fault> faults_;
};

// The values allowed for a figure, both ends included, and its unit for the message.
struct Range {
  double low;
  double high;
  std::string_view unit;
};

struct Choice {
  std::string_view word;
  int value;
};

// One table: each key asked for becomes known, and finish() tells the keys nobody asked for.
class Section {
 public:
  // `what` names it in messages: "rank \"sw-oboe\"". `damaged`: a line of it could not be read, so missing
  // keys are not told.
  Section(Faults& faults, const Value& table, std::string what, bool damaged = false);

  [[nodiscard]] Place place() const { return table_.place; }
  [[nodiscard]] const std::string& what() const { return what_; }
  void rename(std::string what) { what_ = std::move(what); }
  void fault(Place at, std::string message) { faults_.add(at, std::move(message)); }
  [[nodiscard]] Faults& faults() { return faults_; }
  // Where the key stands; the table itself when it is not there.
  [[nodiscard]] Place place_of(std::string_view key) const;
  // Where its value stands.
  [[nodiscard]] Place place_of_value(std::string_view key) const;
  [[nodiscard]] bool has(std::string_view key) const;

  [[nodiscard]] const Value* value(std::string_view key);
  [[nodiscard]] const Value* required(std::string_view key, std::string_view example);
  [[nodiscard]] std::optional<std::string> text(std::string_view key);
  [[nodiscard]] std::optional<bool> truth(std::string_view key);
  [[nodiscard]] std::optional<int> whole(std::string_view key, int low, int high);
  [[nodiscard]] std::optional<int> choice(std::string_view key, const std::vector<Choice>& choices);
  [[nodiscard]] std::optional<Note> note(std::string_view key);
  // "C2-G6", "C2" or a list of these.
  [[nodiscard]] std::optional<NoteSet> notes(std::string_view key);
  [[nodiscard]] std::optional<std::vector<std::string>> texts(std::string_view key);
  // Feet as text or number.
  [[nodiscard]] std::optional<Feet> feet(const Value& value);
  // A plain number is given; { value, from, plus_minus, date, basis, conditions } says more.
  [[nodiscard]] std::optional<Sourced<double>> figure(std::string_view key, Range range);
  [[nodiscard]] std::optional<Sourced<double>> figure_of(const Value& value, std::string_view key, Range range);
  [[nodiscard]] std::optional<Sourced<Bands>> bands(std::string_view key, Range range);
  [[nodiscard]] std::optional<Bands> bands_of(const Value& value, std::string_view key, Range range);
  // A table with keys of its own, as `notes = { C2 = ..., C4 = ... }`; empty when absent.
  [[nodiscard]] const std::vector<toml_tree::Entry>& table(std::string_view key);
  // Tells every key that was not asked for.
  void finish();

 private:
  const toml_tree::Entry* find(std::string_view key) const;
  std::optional<double> number(const Value& value, std::string_view key, Range range);
  std::optional<NoteSet> note_range(const Value& value);

  Faults& faults_;
  const Value& table_;
  std::string what_;
  bool damaged_;
  std::vector<std::string> known_;
};

}  // namespace calcant::organ_toml
