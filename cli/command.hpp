// What a command is: its words, what it takes, its examples, and the function that does it. Parsing, help, hints and
// the way errors are told are made from this description alone, so every command behaves alike.
#pragma once

#include <functional>
#include <istream>
#include <map>
#include <optional>
#include <ostream>
#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/result.hpp"
#include "engine/quantity/work.hpp"

namespace calcant::cli {

// A word by its place: ORGAN, SCORE.
struct Argument {
  std::string name;
  std::string help;
  bool optional = false;
};

// A word by its name: --draw REGISTRATION. A flag has no `value`.
struct Option {
  std::string name;   // "--draw"
  std::string value;  // "REGISTRATION"; empty: a flag
  std::string help;
  std::string otherwise{};             // what holds when it is left out; empty: nothing
  std::vector<std::string> choices{};  // when only these are allowed
  bool required = false;
  bool many = false;  // may be given several times
};

struct Example {
  std::string line;  // "calcant spec demo/village"
  std::string does;  // what it shows
};

// What was typed for one command. Names are those of the description; what was left out holds its `otherwise`.
class Given {
 public:
  void put(const std::string& name, std::vector<std::string> values, bool typed);

  [[nodiscard]] bool has(const std::string& name) const { return values_.contains(name); }
  [[nodiscard]] bool typed(const std::string& name) const;                       // by the user, not by `otherwise`
  [[nodiscard]] std::optional<std::string> text(const std::string& name) const;  // the last, where several
  [[nodiscard]] std::string text_or(const std::string& name, std::string otherwise) const;
  [[nodiscard]] std::vector<std::string> all(const std::string& name) const;
  // Numbers between the bounds, both included; a unit of `unit` may stand behind ("14.5C"); errors name the option.
  [[nodiscard]] Result<std::optional<double>> number(const std::string& name, double low, double high,
                                                     std::string_view unit = {}) const;
  [[nodiscard]] Result<std::optional<int>> whole(const std::string& name, int low, int high) const;

 private:
  std::map<std::string, std::vector<std::string>> values_;
  std::map<std::string, bool> typed_;
};

// Where a command asks and waits. Results are never written by a command: it hands back Shown.
struct Console {
  std::istream& in;
  std::ostream& out;
  std::ostream& err;
  bool can_ask = false;  // standard input and error are a terminal: questions make sense
  Work work{};           // threads, stop, progress
};

// What a command has to say, for people and for programs. `json` is one JSON value.
struct Shown {
  std::string text;
  std::string json;
};

struct Command {
  std::string name;     // "spec", "measure compare"
  std::string summary;  // one line in the list of commands
  std::string about;    // what it does, in paragraphs of plain text
  std::vector<Argument> arguments{};
  std::vector<Option> options{};
  std::vector<Example> examples{};
  bool reports = true;  // takes --json
  std::function<Result<Shown>(const Given&, Console&)> run;
};

}  // namespace calcant::cli
