#include "files/service/service.hpp"

#include <fmt/format.h>

#include <array>

#include "files/toml/checked.hpp"
#include "files/toml/quoted.hpp"

namespace calcant {
namespace {

const std::vector<std::string> top_keys{"version", "name", "date", "singers", "invented", "item"};
const std::vector<std::string> item_keys{"kind",    "number",       "title",  "tune",      "chant",         "key",
                                         "metre",   "lines",        "verses", "bass",      "words",         "file",
                                         "score",   "tempo",        "when",   "play_over", "cut",           "note",
                                         "minutes", "double_chant", "gloria", "place",     "play_over_word"};
const std::vector<std::string> place_keys{"page", "system", "bar", "word", "rest"};
const std::vector<std::string> kinds{"hymn", "psalm", "voluntary", "fill", "note"};
constexpr std::size_t longest_text = 300;

class ServiceReader {
 public:
  ServiceReader(std::string_view name, Completeness completeness) : in_(name), completeness_(completeness) {}

  Result<Service> read(std::string_view text) {
    Service s;
    in_.parse(text, "[[item]]", [&](const toml::table& top) { s = service(top); });
    if (const auto faults = in_.faults()) return tl::unexpected<Error>(*faults);
    return s;
  }

 private:
  Service service(const toml::table& top) {
    in_.known(top, top_keys);
    in_.version(top, service_file_version);
    Service s;
    s.name = in_.string(top, "name");
    s.date = in_.date(top);
    s.invented = in_.truth(top, "invented", false);
    s.singers = in_.whole(top, "singers", 1, 5000);
    const toml::node* items = top.get("item");
    if (items == nullptr && completeness_ == Completeness::as_typed) return s;  // nothing is on the board yet
    if (items == nullptr || !items->is_array_of_tables()) {
      in_.fault(items == nullptr ? top.source().begin : items->source().begin,
                "A service has at least one item; each begins with a line [[item]].");
      return s;
    }
    in_.tables(top, "item", most_items, [&](const toml::table& t) { s.items.push_back(item(t)); });
    return s;
  }

  ServiceItem item(const toml::table& t) {
    in_.known(t, item_keys);
    ServiceItem i;
    i.line = static_cast<int>(t.source().begin.line);
    const std::string kind = in_.string(t, "kind");
    const auto found = std::find(kinds.begin(), kinds.end(), kind.empty() ? "hymn" : kind);
    if (found == kinds.end()) {
      in_.fault(t.get("kind")->source().begin, fmt::format("'{}' is no kind of item{}: {}.", kind.substr(0, 60),
                                                           perhaps(kind, kinds), fmt::join(kinds, ", ")));
    } else {
      i.kind = static_cast<ServiceItem::Kind>(found - kinds.begin());
    }
    i.number = in_.string(t, "number");
    for (const char* key : {"title", "tune"}) {
      if (const std::string s = in_.string(t, key); !s.empty()) i.title = s;
    }
    i.key = in_.string(t, "key");
    i.metre = in_.string(t, "metre");
    if (const std::string lines = in_.string(t, "lines"); !lines.empty()) i.metre = lines;
    i.verses = in_.whole(t, "verses", 1, most_verses).value_or(0);
    i.bass = in_.string(t, "bass");
    i.play_over = in_.string(t, "play_over");
    i.play_over_word = in_.string(t, "play_over_word");
    i.score = in_.string(t, "score");
    if (const std::string file = in_.string(t, "file"); !file.empty()) i.score = file;
    i.when = in_.string(t, "when");
    i.tempo = in_.number(t, "tempo", 10, 400);
    i.minutes = in_.number(t, "minutes", least_minutes, most_minutes);
    i.note = in_.string(t, "note");
    i.cuts = in_.strings(t, "cut", most_cuts, "cut = [\"end at bar 24\", \"from bar 16 to bar 33\"]");
    const std::string chant = in_.string(t, "chant");
    i.double_chant = chant == "double";
    if (!chant.empty() && chant != "single" && chant != "double" && i.title.empty()) i.title = chant;  // its composer
    if (t.contains("double_chant")) i.double_chant = in_.truth(t, "double_chant", false);
    i.gloria = in_.truth(t, "gloria", true);
    i.words = in_.strings(t, "words", static_cast<std::size_t>(most_verses),
                          "words = [\"firm\", \"soft\", \"\", \"full\"], one a verse");
    in_.tables(t, "place", most_places, [&](const toml::table& p) { i.places.push_back(place(p)); });
    const bool needs_name = i.kind == ServiceItem::Kind::hymn || i.kind == ServiceItem::Kind::voluntary;
    if (needs_name && i.title.empty() && i.score.empty() && completeness_ == Completeness::required)
      in_.fault(t.source().begin, "An item needs a tune, a title or a file.");
    if (!i.places.empty() && (i.kind == ServiceItem::Kind::hymn || i.kind == ServiceItem::Kind::psalm))
      in_.fault(t.source().begin,
                "Places on paper belong to a voluntary or to fill-in music; a hymn has words for verses.");
    return i;
  }

  PaperPlace place(const toml::table& t) {
    in_.known(t, place_keys);
    PaperPlace p;
    p.page = in_.whole(t, "page", 1, most_pages).value_or(0);
    p.system = in_.whole(t, "system", 1, most_systems).value_or(0);
    p.bar = in_.string(t, "bar");
    p.word = in_.string(t, "word");
    p.rest = in_.number(t, "rest", 0, longest_rest);
    if (p.page == 0 && p.bar.empty() && completeness_ == Completeness::required)
      in_.fault(t.source().begin,
                "A place on paper has a page (and a system) or a bar: page = 2, system = 3, bar = 41.");
    return p;
  }

  toml_library::Checked in_;
  Completeness completeness_;
};

void line(std::string& out, std::string_view key, std::string_view value) {
  if (!value.empty()) out += fmt::format("{} = {}\n", key, toml_library::quoted(value, longest_text));
}

void list(std::string& out, std::string_view key, const std::vector<std::string>& texts) {
  if (texts.empty()) return;
  out += fmt::format("{} = [", key);
  for (std::size_t t = 0; t < texts.size(); ++t)
    out += (t == 0 ? "" : ", ") + toml_library::quoted(texts[t], longest_text);
  out += "]\n";
}

}  // namespace

std::string_view word(ServiceItem::Kind k) { return kinds[static_cast<std::size_t>(k)]; }

std::string words(const PaperPlace& p) {
  std::string out;
  const auto add = [&](std::string part) { out += (out.empty() ? "" : ", ") + part; };
  if (p.page > 0) add(fmt::format("p. {}", p.page));
  if (p.system > 0) add(fmt::format("system {}", p.system));
  if (!p.bar.empty()) add("bar " + p.bar);
  return out;
}

Result<Service> read_service(std::string_view text, std::string_view name, Completeness completeness) {
  if (text.size() > service_file_limit) return fail("A service file is at most 256 kB.", std::string{name});
  return ServiceReader(name, completeness).read(text);
}

std::string write_service(const Service& service) {
  std::string out = fmt::format("version = {}\n", service_file_version);
  line(out, "name", service.name);
  if (!service.date.empty()) out += fmt::format("date = {}\n", service.date);
  if (service.singers) out += fmt::format("singers = {}\n", *service.singers);
  if (service.invented) out += "invented = true\n";
  for (const ServiceItem& i : service.items) {
    out += fmt::format("\n[[item]]\nkind = \"{}\"\n", word(i.kind));
    line(out, "number", i.number);
    line(out, "title", i.title);
    line(out, "key", i.key);
    line(out, "metre", i.metre);
    if (i.verses > 0) out += fmt::format("verses = {}\n", i.verses);
    line(out, "bass", i.bass);
    line(out, "play_over", i.play_over);
    line(out, "play_over_word", i.play_over_word);
    list(out, "words", i.words);
    list(out, "cut", i.cuts);
    line(out, "note", i.note);
    line(out, "score", i.score);
    if (i.tempo) out += fmt::format("tempo = {}\n", *i.tempo);
    if (i.minutes) out += fmt::format("minutes = {}\n", *i.minutes);
    line(out, "when", i.when);
    if (i.double_chant) out += "double_chant = true\n";
    if (!i.gloria) out += "gloria = false\n";
    for (const PaperPlace& p : i.places) {
      out += "\n[[item.place]]\n";
      if (p.page > 0) out += fmt::format("page = {}\n", p.page);
      if (p.system > 0) out += fmt::format("system = {}\n", p.system);
      line(out, "bar", p.bar);
      line(out, "word", p.word);
      if (p.rest) out += fmt::format("rest = {}\n", *p.rest);
    }
  }
  return out;
}

}  // namespace calcant
