#include "files/organfile/section.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

namespace calcant::organ_toml {
namespace {

std::string shown(const Value& v) {
  switch (v.kind) {
    case Value::Kind::text: return "the text \"" + v.text.substr(0, 40) + "\"";
    case Value::Kind::whole: return fmt::format("{}", v.whole);
    case Value::Kind::real: return fmt::format("{}", v.real);
    case Value::Kind::truth: return v.truth ? "true" : "false";
    case Value::Kind::list: return "a list";
    case Value::Kind::table: return "a table";
    case Value::Kind::other: break;
  }
  return "something else";
}

}  // namespace

Faults::Faults(std::string_view text, std::string_view file) : file_(file) {
  std::size_t at = 0;
  while (at <= text.size()) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    std::string_view line = text.substr(at, end - at);
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    lines_.emplace_back(line);
    at = end + 1;
  }
}

void Faults::add(Place at, std::string message) {
  constexpr std::size_t most = 1000;  // a file with more faults than this is not an organ file
  if (faults_.size() >= most) return;
  Fault f;
  f.file = file_;
  f.line = at.line;
  f.column = at.column;
  f.message = std::move(message);
  if (at.line >= 1 && at.line <= static_cast<int>(lines_.size())) {
    const std::string& line = lines_[static_cast<std::size_t>(at.line) - 1];
    // The column counts characters; the caret stands at a byte.
    std::size_t byte = 0;
    for (int c = 1; c < at.column && byte < line.size(); ++c) {
      ++byte;
      while (byte < line.size() && (static_cast<unsigned char>(line[byte]) & 0xC0) == 0x80) ++byte;
    }
    constexpr std::size_t widest = 160;
    // No character has more than three bytes after its first; what has is no text.
    const auto inside = [&](std::size_t place) {
      return place < line.size() && (static_cast<unsigned char>(line[place]) & 0xC0) == 0x80;
    };
    std::size_t from = line.size() > widest && byte > widest / 2 ? byte - widest / 2 : 0;
    for (int i = 0; i < 3 && from > 0 && inside(from); ++i) --from;
    std::size_t to = std::min(line.size(), from + widest);
    for (int i = 0; i < 3 && inside(to); ++i) ++to;
    f.text = line.substr(from, to - from);
    f.caret = static_cast<int>(byte - from);
  }
  faults_.push_back(std::move(f));
}

std::vector<Fault> Faults::sorted() const {
  std::vector<Fault> out = faults_;
  std::sort(out.begin(), out.end(), [](const Fault& a, const Fault& b) {
    return std::tie(a.line, a.column, a.message) < std::tie(b.line, b.column, b.message);
  });
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

Section::Section(Faults& faults, const Value& table, std::string what, bool damaged)
    : faults_(faults), table_(table), what_(std::move(what)), damaged_(damaged) {}

const toml_tree::Entry* Section::find(std::string_view key) const {
  for (const toml_tree::Entry& e : table_.table) {
    if (e.key == key) return &e;
  }
  return nullptr;
}

Place Section::place_of(std::string_view key) const {
  const toml_tree::Entry* e = find(key);
  return e != nullptr ? e->place : table_.place;
}

Place Section::place_of_value(std::string_view key) const {
  const toml_tree::Entry* e = find(key);
  return e != nullptr ? e->value.place : table_.place;
}

bool Section::has(std::string_view key) const { return find(key) != nullptr; }

const Value* Section::value(std::string_view key) {
  if (std::find(known_.begin(), known_.end(), key) == known_.end()) known_.emplace_back(key);
  const toml_tree::Entry* e = find(key);
  return e != nullptr ? &e->value : nullptr;
}

const Value* Section::required(std::string_view key, std::string_view example) {
  const Value* v = value(key);
  if (v == nullptr && !damaged_) {
    fault(table_.place, fmt::format("{} does not say its \"{}\"; write for example {} = {}", what_, key, key, example));
  }
  return v;
}

std::optional<std::string> Section::text(std::string_view key) {
  const Value* v = value(key);
  if (v == nullptr) return std::nullopt;
  if (v->kind != Value::Kind::text) {
    fault(v->place, fmt::format("\"{}\" of {} is {}; it should be a text in quotation marks", key, what_, shown(*v)));
    return std::nullopt;
  }
  if (v->text.size() > 4000) {
    fault(v->place, fmt::format("\"{}\" of {} is longer than 4000 letters", key, what_));
    return std::nullopt;
  }
  return v->text;
}

std::optional<bool> Section::truth(std::string_view key) {
  const Value* v = value(key);
  if (v == nullptr) return std::nullopt;
  if (v->kind != Value::Kind::truth) {
    fault(v->place, fmt::format("\"{}\" of {} is {}; it should be true or false", key, what_, shown(*v)));
    return std::nullopt;
  }
  return v->truth;
}

std::optional<int> Section::whole(std::string_view key, int low, int high) {
  const Value* v = value(key);
  if (v == nullptr) return std::nullopt;
  if (v->kind != Value::Kind::whole || v->whole < low || v->whole > high) {
    fault(v->place, fmt::format("\"{}\" of {} is {}; it should be a whole number from {} to {}", key, what_, shown(*v),
                                low, high));
    return std::nullopt;
  }
  return static_cast<int>(v->whole);
}

std::optional<int> Section::choice(std::string_view key, const std::vector<Choice>& choices) {
  const Value* v = value(key);
  if (v == nullptr) return std::nullopt;
  std::vector<std::string> known;
  for (const Choice& c : choices) {
    if (v->kind == Value::Kind::text && v->text == c.word) return c.value;
    known.emplace_back(c.word);
  }
  const std::string guess = v->kind == Value::Kind::text ? nearest(v->text, known) : std::string{};
  fault(v->place, fmt::format("\"{}\" of {} is {}; it should be {}{}", key, what_, shown(*v),
                              fmt::format("one of \"{}\"", fmt::join(known, "\", \"")),
                              guess.empty() ? "" : ": perhaps \"" + guess + "\""));
  return std::nullopt;
}

std::optional<Note> Section::note(std::string_view key) {
  const Value* v = value(key);
  if (v == nullptr) return std::nullopt;
  if (v->kind == Value::Kind::text) {
    const Result<Note> n = parse_note(v->text);
    if (n) return *n;
    fault(v->place, n.error().message);
    return std::nullopt;
  }
  fault(v->place, fmt::format("\"{}\" of {} is {}; it should be a note such as \"C2\"", key, what_, shown(*v)));
  return std::nullopt;
}

std::optional<NoteSet> Section::note_range(const Value& v) {
  if (v.kind != Value::Kind::text) {
    fault(v.place, fmt::format("{} is {}; it should be notes such as \"C2-G6\"", what_, shown(v)));
    return std::nullopt;
  }
  const std::size_t dash = v.text.find('-', 1);
  const Result<Note> low = parse_note(std::string_view{v.text}.substr(0, dash));
  const Result<Note> high = dash == std::string::npos ? low : parse_note(std::string_view{v.text}.substr(dash + 1));
  if (!low || !high) {
    fault(v.place, (low ? high : low).error().message + ", and from one to another \"C2-G6\"");
    return std::nullopt;
  }
  if (*low > *high) {
    fault(v.place,
          fmt::format("\"{}\" runs downward; write the lower note first, \"{}-{}\"", v.text, name(*high), name(*low)));
    return std::nullopt;
  }
  return NoteSet::range(low->midi, high->midi);
}

std::optional<NoteSet> Section::notes(std::string_view key) {
  const Value* v = value(key);
  if (v == nullptr) return std::nullopt;
  if (v->kind != Value::Kind::list) return note_range(*v);
  NoteSet all;
  for (const Value& part : v->list) {
    if (const auto some = note_range(part)) all |= *some;
  }
  return all;
}

std::optional<std::vector<std::string>> Section::texts(std::string_view key) {
  const Value* v = value(key);
  if (v == nullptr) return std::nullopt;
  std::vector<std::string> out;
  if (v->kind == Value::Kind::text) return std::vector<std::string>{v->text};
  if (v->kind != Value::Kind::list) {
    fault(v->place, fmt::format("\"{}\" of {} is {}; it should be a list of texts", key, what_, shown(*v)));
    return std::nullopt;
  }
  for (const Value& item : v->list) {
    if (item.kind == Value::Kind::text) out.push_back(item.text);
    else fault(item.place, fmt::format("in \"{}\" of {} stands {}; it should be a text", key, what_, shown(item)));
  }
  return out;
}

std::optional<Feet> Section::feet(const Value& v) {
  std::string text = v.text;
  if (v.kind == Value::Kind::whole) text = fmt::format("{}", v.whole);
  if (v.kind == Value::Kind::real) text = fmt::format("{}", v.real);
  const Result<Feet> f = parse_feet(text);
  if ((v.kind == Value::Kind::text || v.kind == Value::Kind::whole) && f) return *f;
  if (v.kind == Value::Kind::real) {
    fault(v.place, fmt::format("the length {} is written as a decimal; write feet with a fraction, \"2 2/3\"", text));
  } else {
    fault(v.place, v.kind == Value::Kind::text || v.kind == Value::Kind::whole
                       ? f.error().message
                       : fmt::format("the length is {}; write feet like 8 or \"2 2/3\"", shown(v)));
  }
  return std::nullopt;
}

std::optional<double> Section::number(const Value& v, std::string_view key, Range range) {
  if (!v.number()) {
    fault(v.place, fmt::format("\"{}\" of {} is {}; it should be a number from {} to {}{}", key, what_, shown(v),
                               range.low, range.high, range.unit));
    return std::nullopt;
  }
  if (!(v.real >= range.low && v.real <= range.high)) {
    fault(v.place, fmt::format("\"{}\" of {} is {}; it should lie from {} to {}{}", key, what_, shown(v), range.low,
                               range.high, range.unit));
    return std::nullopt;
  }
  return v.real;
}

namespace {

const std::vector<Choice>& source_words() {
  static const std::vector<Choice> words{{"measured", static_cast<int>(Source::measured)},
                                         {"given", static_cast<int>(Source::given)},
                                         {"computed", static_cast<int>(Source::computed)},
                                         {"assumed", static_cast<int>(Source::assumed)}};
  return words;
}

bool iso_date(std::string_view s) {
  if (s.size() != 10) return false;
  for (std::size_t i = 0; i < s.size(); ++i) {
    const bool dash = i == 4 || i == 7;
    if (dash ? s[i] != '-' : s[i] < '0' || s[i] > '9') return false;
  }
  return true;
}

// Reads { value = ..., from = ... } around whatever `read` makes of the value itself.
template <class T, class Read>
std::optional<Sourced<T>> sourced(Faults& faults, const Value& v, std::string what, Read read) {
  Sourced<T> out;
  if (v.kind != Value::Kind::table) {
    const std::optional<T> plain = read(v);
    if (!plain) return std::nullopt;
    out.value = *plain;
    out.source = Source::given;
    return out;
  }
  Section s{faults, v, std::move(what)};
  const Value* inner = s.required("value", "75");
  out.source = static_cast<Source>(s.choice("from", source_words()).value_or(static_cast<int>(Source::given)));
  out.half_width_95 = std::nullopt;
  if (const Value* pm = s.value("plus_minus"); pm != nullptr) {
    if (pm->number() && pm->real >= 0 && std::isfinite(pm->real)) out.half_width_95 = pm->real;
    else s.fault(pm->place, fmt::format("\"plus_minus\" of {} should be a number, 0 or more", s.what()));
  }
  out.date = s.text("date").value_or("");
  if (!out.date.empty() && !iso_date(out.date)) {
    s.fault(s.place_of("date"), fmt::format("the date \"{}\" should be written as \"2026-03-31\"", out.date));
  }
  out.basis = s.text("basis").value_or("");
  out.conditions = s.text("conditions").value_or("");
  s.finish();
  if (inner == nullptr) return std::nullopt;
  const std::optional<T> value = read(*inner);
  if (!value) return std::nullopt;
  out.value = *value;
  return out;
}

}  // namespace

std::optional<Sourced<double>> Section::figure_of(const Value& v, std::string_view key, Range range) {
  return sourced<double>(faults_, v, fmt::format("\"{}\" of {}", key, what_),
                         [&](const Value& inner) { return number(inner, key, range); });
}

std::optional<Sourced<double>> Section::figure(std::string_view key, Range range) {
  const Value* v = value(key);
  return v == nullptr ? std::nullopt : figure_of(*v, key, range);
}

std::optional<Bands> Section::bands_of(const Value& v, std::string_view key, Range range) {
  if (v.kind != Value::Kind::list || v.list.size() != octave_band_count) {
    fault(v.place,
          fmt::format("\"{}\" of {} should be a list of {} numbers, for 63, 125, 250, 500, 1000, 2000, 4000 and "
                      "8000 Hz",
                      key, what_, octave_band_count));
    return std::nullopt;
  }
  Bands out{};
  for (std::size_t i = 0; i < out.size(); ++i) {
    const auto n = number(v.list[i], key, range);
    if (!n) return std::nullopt;
    out[i] = *n;
  }
  return out;
}

std::optional<Sourced<Bands>> Section::bands(std::string_view key, Range range) {
  const Value* v = value(key);
  if (v == nullptr) return std::nullopt;
  return sourced<Bands>(faults_, *v, fmt::format("\"{}\" of {}", key, what_),
                        [&](const Value& inner) { return bands_of(inner, key, range); });
}

const std::vector<toml_tree::Entry>& Section::table(std::string_view key) {
  static const std::vector<toml_tree::Entry> none;
  const Value* v = value(key);
  if (v == nullptr) return none;
  if (v->kind != Value::Kind::table) {
    fault(v->place, fmt::format("\"{}\" of {} is {}; it should be a table such as {{ C2 = ..., C4 = ... }}", key, what_,
                                shown(*v)));
    return none;
  }
  return v->table;
}

void Section::finish() {
  for (const toml_tree::Entry& e : table_.table) {
    if (std::find(known_.begin(), known_.end(), e.key) != known_.end()) continue;
    fault(e.place, fmt::format("{} has no key \"{}\"{}", what_, e.key.substr(0, 60), perhaps(e.key, known_)));
  }
}

}  // namespace calcant::organ_toml
