// A TOML file a person has written, read with every fault collected in its place. Only for .cpp files, as library.hpp.
#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/nearest.hpp"
#include "engine/quantity/result.hpp"
#include "files/toml/library.hpp"

namespace calcant::toml_library {

class Checked {
 public:
  explicit Checked(std::string_view name) : name_(name) {}

  // Calls read(top table); false where the text is no TOML, or nested deeper than any file of ours.
  template <class Read>
  bool parse(std::string_view text, const char* headers, const Read& read) {
    // The library follows nesting by recursion; a depth no file of ours has is refused before it reads.
    int depth = 0;
    for (const char c : text) {
      depth += c == '[' || c == '{' ? 1 : c == ']' || c == '}' ? -1 : 0;
      if (depth > 64) {
        faults_.push_back({"Brackets are nested too deeply.", name_});
        return false;
      }
    }
    try {
      const toml::parse_result parsed = toml::parse(text, name_);
      if (!parsed) {
        const auto& e = parsed.error();
        faults_.push_back({std::string{e.description()} + ".", place(e.source().begin)});
        return false;
      }
      read(parsed.table());
      return true;
    } catch (const TakenForGranted&) {
      faults_.push_back({fmt::format("A header is broken here or further down; headers are {}.", headers), name_});
      return false;
    }
  }

  // All faults as one Error, the first one's place its place.
  [[nodiscard]] std::optional<Error> faults() const {
    if (faults_.empty()) return std::nullopt;
    std::string all = faults_.front().message;
    for (std::size_t i = 1; i < faults_.size(); ++i)
      all += fmt::format("\n{}: {}", faults_[i].where, faults_[i].message);
    return Error{std::move(all), faults_.front().where};
  }

  void fault(toml::source_position p, std::string message) {
    if (faults_.size() < most_faults) faults_.push_back({std::move(message), place(p)});
  }

  [[nodiscard]] std::string place(toml::source_position p) const {
    return fmt::format("{}:{}:{}", name_, p.line, p.column);
  }

  void version(const toml::table& top, int newest) {
    const auto v = whole(top, "version", 1, 1000000);
    if (!v && !top.contains("version")) fault(top.source().begin, "The file begins with 'version = 1'.");
    else if (v && *v > newest)
      fault(top.get("version")->source().begin,
            fmt::format("This is version {} of the format; this program reads up to {}.", *v, newest));
  }

  void known(const toml::table& table, const std::vector<std::string>& keys) {
    for (const auto& [key, value] : table) {
      const std::string word{key.str()};
      if (std::find(keys.begin(), keys.end(), word) != keys.end()) continue;
      fault(key.source().begin, fmt::format("'{}' is not known here{}.", word.substr(0, 60), perhaps(word, keys)));
    }
  }

  std::string string(const toml::table& table, const char* key, std::size_t longest = longest_text) {
    const toml::node* n = table.get(key);
    if (n == nullptr) return {};
    if (n->is_integer()) return std::to_string(n->as_integer()->get());  // number = 247 is as good as "247"
    if (!n->is_string()) {
      fault(n->source().begin, fmt::format("'{}' is text between quotes.", key));
      return {};
    }
    const std::string& s = n->as_string()->get();
    if (s.size() > longest) fault(n->source().begin, fmt::format("'{}' is longer than {} letters.", key, longest));
    return s;
  }

  std::optional<int> whole(const toml::table& table, const char* key, int low, int high) {
    const toml::node* n = table.get(key);
    if (n == nullptr) return std::nullopt;
    if (!n->is_integer() || n->as_integer()->get() < low || n->as_integer()->get() > high) {
      fault(n->source().begin, fmt::format("'{}' is a whole number from {} to {}.", key, low, high));
      return std::nullopt;
    }
    return static_cast<int>(n->as_integer()->get());
  }

  std::optional<double> number(const toml::table& table, const char* key, double low, double high) {
    const toml::node* n = table.get(key);
    if (n == nullptr) return std::nullopt;
    const auto v = n->value<double>();
    if (!n->is_number() || !v || !(*v >= low && *v <= high)) {
      fault(n->source().begin, fmt::format("'{}' is a number from {:g} to {:g}.", key, low, high));
      return std::nullopt;
    }
    return v;
  }

  bool truth(const toml::table& table, const char* key, bool otherwise) {
    const toml::node* n = table.get(key);
    if (n == nullptr) return otherwise;
    if (!n->is_boolean()) fault(n->source().begin, fmt::format("'{}' is true or false.", key));
    return n->value_or(otherwise);
  }

  // What stands under a heading [key]; nullptr where there is none.
  const toml::table* heading(const toml::table& top, const char* key) {
    const toml::node* n = top.get(key);
    if (n == nullptr) return nullptr;
    if (!n->is_table()) fault(n->source().begin, fmt::format("'{0}' is a heading of its own: [{0}].", key));
    return n->as_table();
  }

  std::string date(const toml::table& table) {
    const toml::node* n = table.get("date");
    if (n == nullptr) return {};
    if (!n->is_date()) {
      fault(n->source().begin, "A date is written 2026-11-29, without quotes.");
      return {};
    }
    const toml::date d = n->as_date()->get();
    return fmt::format("{:04}-{:02}-{:02}", d.year, d.month, d.day);
  }

  // Texts of a list, at most `most`; `example` follows the fault's sentence.
  std::vector<std::string> strings(const toml::table& table, const char* key, std::size_t most, const char* example) {
    std::vector<std::string> out;
    const toml::node* n = table.get(key);
    if (n == nullptr) return out;
    const toml::array* list = n->as_array();
    const bool good =
        list != nullptr && list->size() <= most && std::all_of(list->begin(), list->end(), [](const toml::node& w) {
          return w.is_string() && w.as_string()->get().size() <= longest_text;
        });
    if (!good) {
      fault(n->source().begin, fmt::format("'{}' is a list of at most {} texts: {}.", key, most, example));
      return out;
    }
    for (const toml::node& w : *list) out.push_back(w.as_string()->get());
    return out;
  }

  // Calls each(table) for every [[key]], at most `most`.
  template <class Each>
  void tables(const toml::table& table, const char* key, std::size_t most, const Each& each) {
    const toml::node* n = table.get(key);
    if (n == nullptr) return;
    if (!n->is_array_of_tables()) {
      fault(n->source().begin, fmt::format("Each '{0}' begins with a line [[{0}]].", key));
      return;
    }
    std::size_t count = 0;
    for (const toml::node& t : *n->as_array()) {
      if (count++ == most) {
        fault(t.source().begin, fmt::format("There are at most {} of '{}'.", most, key));
        return;
      }
      each(*t.as_table());
    }
  }

 private:
  static constexpr std::size_t most_faults = 30;
  static constexpr std::size_t longest_text = 300;
  std::string name_;
  std::vector<Error> faults_;
};

}  // namespace calcant::toml_library
