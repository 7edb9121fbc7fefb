#include "files/service/service.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "engine/quantity/nearest.hpp"
#include "files/toml/library.hpp"

namespace calcant {
namespace {

constexpr std::size_t most_faults = 30;
constexpr std::size_t longest_text = 300;

const std::vector<std::string> top_keys{"version", "name", "date", "singers", "invented", "item"};
const std::vector<std::string> item_keys{"kind",    "number",       "title",  "tune",      "chant", "key",   "metre",
                                         "lines",   "verses",       "bass",   "words",     "file",  "score", "tempo",
                                         "minutes", "double_chant", "gloria", "play_over", "when"};
const std::vector<std::string> kinds{"hymn", "psalm", "voluntary", "fill", "note"};

class Reader {
 public:
  explicit Reader(std::string_view name) : name_(name) {}

  Result<Service> read(std::string_view text) {
    try {
      return read(toml::parse(text, name_));
    } catch (const toml_library::TakenForGranted&) {
      return fail("A header is broken here or further down; items begin with a line [[item]].", name_);
    }
  }

 private:
  Result<Service> read(const toml::parse_result& parsed) {
    if (!parsed) {
      const auto& e = parsed.error();
      return fail(std::string{e.description()} + ".", place(e.source().begin));
    }
    const toml::table& top = parsed.table();
    known(top, top_keys);
    const auto version = whole(top, "version", 1, 1000000);
    if (!version) {
      fault(top.source().begin, "The file begins with 'version = 1'.");
    } else if (*version > service_file_version) {
      fault(top.get("version")->source().begin,
            fmt::format("This is version {} of the format; this program reads up to {}.", *version,
                        service_file_version));
    }
    Service s;
    s.name = string(top, "name");
    s.date = date(top);
    s.invented = truth(top, "invented", false);
    s.singers = whole(top, "singers", 1, 5000);
    const toml::node* items = top.get("item");
    if (items == nullptr || !items->is_array_of_tables()) {
      fault(items == nullptr ? top.source().begin : items->source().begin,
            "A service has at least one item; each begins with a line [[item]].");
    } else {
      for (const toml::node& node : *items->as_array()) {
        if (s.items.size() == most_items) {
          fault(node.source().begin, fmt::format("A service has at most {} items.", most_items));
          break;
        }
        s.items.push_back(item(*node.as_table()));
      }
    }
    if (faults_.empty()) return s;
    std::string all = faults_.front().message;
    for (std::size_t i = 1; i < faults_.size(); ++i)
      all += fmt::format("\n{}: {}", faults_[i].where, faults_[i].message);
    return fail(std::move(all), faults_.front().where);
  }

  [[nodiscard]] std::string place(toml::source_position p) const {
    return fmt::format("{}:{}:{}", name_, p.line, p.column);
  }
  void fault(toml::source_position p, std::string message) {
    if (faults_.size() < most_faults) faults_.push_back({std::move(message), place(p)});
  }

  void known(const toml::table& table, const std::vector<std::string>& keys) {
    for (const auto& [key, value] : table) {
      const std::string word{key.str()};
      if (std::find(keys.begin(), keys.end(), word) != keys.end()) continue;
      fault(key.source().begin, fmt::format("'{}' is not known here{}.", word.substr(0, 60), perhaps(word, keys)));
    }
  }

  std::string string(const toml::table& table, const char* key) {
    const toml::node* n = table.get(key);
    if (n == nullptr) return {};
    if (n->is_integer()) return std::to_string(n->as_integer()->get());  // number = 247 is as good as "247"
    if (!n->is_string()) {
      fault(n->source().begin, fmt::format("'{}' is text between quotes.", key));
      return {};
    }
    const std::string& s = n->as_string()->get();
    if (s.size() > longest_text)
      fault(n->source().begin, fmt::format("'{}' is longer than {} letters.", key, longest_text));
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

  ServiceItem item(const toml::table& t) {
    known(t, item_keys);
    ServiceItem i;
    i.line = static_cast<int>(t.source().begin.line);
    const std::string kind = string(t, "kind");
    const auto found = std::find(kinds.begin(), kinds.end(), kind.empty() ? "hymn" : kind);
    if (found == kinds.end()) {
      fault(t.get("kind")->source().begin, fmt::format("'{}' is no kind of item{}: {}.", kind.substr(0, 60),
                                                       perhaps(kind, kinds), fmt::join(kinds, ", ")));
    } else {
      i.kind = static_cast<ServiceItem::Kind>(found - kinds.begin());
    }
    i.number = string(t, "number");
    for (const char* key : {"title", "tune"}) {
      if (const std::string s = string(t, key); !s.empty()) i.title = s;
    }
    i.key = string(t, "key");
    i.metre = string(t, "metre");
    if (const std::string lines = string(t, "lines"); !lines.empty()) i.metre = lines;
    i.verses = whole(t, "verses", 1, most_verses).value_or(0);
    i.bass = string(t, "bass");
    i.play_over = string(t, "play_over");
    i.score = string(t, "score");
    if (const std::string file = string(t, "file"); !file.empty()) i.score = file;
    i.when = string(t, "when");
    i.tempo = number(t, "tempo", 10, 400);
    i.minutes = number(t, "minutes", 0.1, 120);
    const std::string chant = string(t, "chant");
    i.double_chant = chant == "double";
    if (!chant.empty() && chant != "single" && chant != "double" && i.title.empty()) i.title = chant;  // its composer
    if (t.contains("double_chant")) i.double_chant = truth(t, "double_chant", false);
    i.gloria = truth(t, "gloria", true);
    words(t, i);
    const bool needs_name = i.kind == ServiceItem::Kind::hymn || i.kind == ServiceItem::Kind::voluntary;
    if (needs_name && i.title.empty() && i.score.empty()) {
      fault(t.source().begin, "An item needs a tune, a title or a file.");
    }
    return i;
  }

  void words(const toml::table& t, ServiceItem& i) {
    const toml::node* n = t.get("words");
    if (n == nullptr) return;
    const toml::array* list = n->as_array();
    if (list == nullptr || list->size() > static_cast<std::size_t>(most_verses)) {
      fault(n->source().begin, "'words' is a list, one text a verse: [\"firm\", \"soft\", \"\", \"full\"].");
      return;
    }
    for (const toml::node& w : *list) {
      if (!w.is_string() || w.as_string()->get().size() > longest_text) {
        fault(w.source().begin, "A word for a verse is text between quotes; \"\" where there is none.");
        return;
      }
      i.words.push_back(w.as_string()->get());
    }
  }

  std::string name_;
  std::vector<Error> faults_;
};

}  // namespace

std::string_view word(ServiceItem::Kind k) { return kinds[static_cast<std::size_t>(k)]; }

Result<Service> read_service(std::string_view text, std::string_view name) {
  if (text.size() > service_file_limit) return fail("A service file is at most 256 kB.", std::string{name});
  // The library follows nesting by recursion; nothing here nests, so a depth no service has is refused before it reads.
  int depth = 0;
  for (const char c : text) {
    depth += c == '[' || c == '{' ? 1 : c == ']' || c == '}' ? -1 : 0;
    if (depth > 64) return fail("Brackets are nested too deeply for a service.", std::string{name});
  }
  return Reader(name).read(text);
}

}  // namespace calcant
