#include "files/feetfile/feetfile.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "engine/quantity/nearest.hpp"
#include "files/toml/library.hpp"

namespace calcant {
namespace {

constexpr std::size_t most_faults = 30;
constexpr std::size_t longest_mark = 200;
constexpr int deepest = 16;

class Reader {
 public:
  explicit Reader(std::string_view name) : name_(name) {}

  Result<std::vector<FeetFileMark>> read(std::string_view text) {
    try {
      return read(toml::parse(text, name_));
    } catch (const toml_library::TakenForGranted&) {
      return fail("A header is broken; a feet file has none, only 'version' and 'marks'.", name_);
    }
  }

 private:
  Result<std::vector<FeetFileMark>> read(const toml::parse_result& parsed) {
    if (!parsed) return fail(std::string{parsed.error().description()} + ".", place(parsed.error().source().begin));
    const toml::table& top = parsed.table();
    const std::vector<std::string> keys{"version", "marks"};
    for (const auto& [key, value] : top) {
      const std::string w{key.str()};
      if (std::find(keys.begin(), keys.end(), w) != keys.end()) continue;
      fault(key.source().begin, fmt::format("'{}' is not known here{}.", w.substr(0, 60), perhaps(w, keys)));
    }
    version(top);
    marks(top);
    if (faults_.empty()) return std::move(marks_);
    std::string all = faults_.front().message;
    for (std::size_t i = 1; i < faults_.size(); ++i) {
      all += fmt::format("\n{}: {}", faults_[i].where, faults_[i].message);
    }
    return fail(std::move(all), faults_.front().where);
  }

  void version(const toml::table& top) {
    const toml::node* n = top.get("version");
    if (n == nullptr) {
      fault(top.source().begin, "The file begins with 'version = 1'.");
    } else if (!n->is_integer() || n->as_integer()->get() < 1) {
      fault(n->source().begin, "'version' is a whole number: 1.");
    } else if (n->as_integer()->get() > feet_file_version) {
      fault(n->source().begin, fmt::format("This is version {} of the format; this program reads up to {}.",
                                           n->as_integer()->get(), feet_file_version));
    }
  }

  void marks(const toml::table& top) {
    const toml::node* n = top.get("marks");
    if (n == nullptr) return;
    const toml::array* list = n->as_array();
    if (list == nullptr || list->size() > most_feet_marks) {
      fault(n->source().begin,
            fmt::format("'marks' is a list of at most {} marks, each between quotes.", most_feet_marks));
      return;
    }
    for (const toml::node& one : *list) {
      if (!one.is_string() || one.as_string()->get().size() > longest_mark) {
        fault(one.source().begin, "A mark is text between quotes: \"bar 12, beat 2: left toe\".");
        continue;
      }
      marks_.push_back({one.as_string()->get(), place(one.source().begin)});
    }
  }

  [[nodiscard]] std::string place(toml::source_position p) const {
    return fmt::format("{}:{}:{}", name_, p.line, p.column);
  }
  void fault(toml::source_position p, std::string message) {
    if (faults_.size() < most_faults) faults_.push_back({std::move(message), place(p)});
  }

  std::string name_;
  std::vector<FeetFileMark> marks_;
  std::vector<Error> faults_;
};

}  // namespace

Result<std::vector<FeetFileMark>> read_feet_file(std::string_view text, std::string_view name) {
  if (text.size() > feet_file_limit) return fail("A feet file is at most 256 kB.", std::string{name});
  // The library follows nesting by recursion; nothing here nests so deep.
  int depth = 0;
  for (const char c : text) {
    depth += c == '[' || c == '{' ? 1 : c == ']' || c == '}' ? -1 : 0;
    if (depth > deepest) return fail("Brackets are nested too deeply for a feet file.", std::string{name});
  }
  return Reader(name).read(text);
}

}  // namespace calcant
