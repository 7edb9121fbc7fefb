#include "files/musicxml/marked.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "files/musicxml/reading.hpp"
#include "files/musicxml/removal.hpp"
#include "files/musicxml/splice.hpp"

namespace calcant::musicxml {
namespace {

constexpr std::string_view name_in_error = "the score to be marked";

std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '&') out += "&amp;";
    else if (c == '<') out += "&lt;";
    else if (c == '>') out += "&gt;";
    else if (c == '"') out += "&quot;";
    else if (static_cast<unsigned char>(c) >= ' ' || c == '\n') out += c;
    else out += ' ';
  }
  return out;
}

// The text with an XML declaration that says UTF-8, as it now is.
std::string declared_utf8(std::string text) {
  if (text.rfind("<?xml", 0) != 0) return text;
  const auto close = text.find("?>");
  const auto at = text.find("encoding");
  if (at == std::string::npos || at > close) return text;
  const auto open = text.find_first_of("\"'", at);
  const auto end = open == std::string::npos ? open : text.find(text[open], open + 1);
  if (end == std::string::npos || end > close) return text;
  std::string label = text.substr(open + 1, end - open - 1);
  for (char& c : label) c = static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c);
  if (label == "utf-8" || label == "utf8") return text;
  return text.replace(open + 1, end - open - 1, "UTF-8");
}

Result<Text> clean_text(const std::string& bytes) {
  auto text = text_of(bytes, name_in_error);
  if (text) text->utf8 = declared_utf8(without_marks(text->utf8));
  return text;
}

// A prefix that no id of the document has before digits.
std::string free_prefix(pugi::xml_node root, std::string wish) {
  std::set<std::string> used;
  struct Walker : pugi::xml_tree_walker {
    std::set<std::string>* used = nullptr;
    bool for_each(pugi::xml_node& node) override {
      std::string id = node.attribute("id").value();
      const auto last = id.find_last_not_of("0123456789");
      if (!id.empty() && last + 1 < id.size()) used->insert(id.substr(0, last + 1));
      return true;
    }
  };
  Walker walker;
  walker.used = &used;
  root.traverse(walker);
  while (used.count(wish) > 0) wish = "c" + wish;
  return wish;
}

// A number of divisions as MusicXML writes it: exact where decimals can be, else to a millionth.
std::string decimals(Rational r) {
  if (r.den() == 1) return fmt::format("{}", r.num());
  std::string text = fmt::format("{:.6f}", r.to_double());
  while (text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text;
}

class Marker {
 public:
  explicit Marker(const Reading& reading) : r_(reading), text_(reading.text.utf8) {}

  Result<std::string> go(const std::vector<Mark>& marks) {
    const pugi::xml_node root = r_.document.root();
    record_.prefix = free_prefix(root, "n");
    mark_prefix_ = free_prefix(root, "mark");
    version(root);
    number_notes();
    for (const Mark& m : marks) {
      const std::string where = fmt::format("mark \"{}\"", m.text);
      if (m.text.size() > 4000) return fail("a mark's text is at most 4000 bytes", where);
      if (m.kind == Mark::Kind::foot) {
        if (m.note >= r_.nodes.size()) return fail(fmt::format("there is no note {} to mark", m.note), where);
        foot(m);
      } else {
        if (m.bar < 0 || m.bar >= static_cast<int>(r_.score.bars.size()) || m.at < Rational{} ||
            m.stave >= static_cast<int>(r_.score.staves.size())) {
          return fail("the mark lies outside the score", where);
        }
        by_part_[part_of(m)].push_back(&m);
      }
    }
    for (const auto& [part, wanted] : by_part_) directions(part, wanted);
    edits_.push_back({start_tag_end(text_, offset(root)), 0, written_record(record_)});
    return applied(text_, std::move(edits_));
  }

 private:
  void version(pugi::xml_node root) {
    const std::string_view was = root.attribute("version").value();
    const double number = root.attribute("version").as_double(1.0);
    if (number > 3.05) return;
    if (const auto v = attribute_place(text_, offset(root), "version")) {
      record_.version = std::string(was);
      if (record_.version.find_first_not_of("0123456789.") != std::string::npos) {
        record_.version.clear();
        return;
      }
      edits_.push_back({v->value, v->size, std::string(marked_version)});
    } else {
      record_.version = "none";
      edits_.push_back(
          {offset(root) + std::string_view(root.name()).size(), 0, fmt::format(" version=\"{}\"", marked_version)});
    }
  }

  void number_notes() {
    for (std::size_t i = 0; i < r_.nodes.size(); ++i) {
      if (r_.nodes[i].attribute("id")) continue;
      edits_.push_back({offset(r_.nodes[i]) + 4, 0, fmt::format(" id=\"{}{}\"", record_.prefix, i)});
    }
  }

  void foot(const Mark& m) {
    const bool toe = m.foot_part == WrittenNote::Part::toe;
    const bool heel = m.foot_part == WrittenNote::Part::heel;
    const std::string placement = m.foot == WrittenNote::Foot::left ? "below" : "above";
    const std::string change = m.foot_change ? " substitution=\"yes\"" : "";
    std::string inner;
    if (toe || heel) inner = fmt::format("<{} placement=\"{}\"{}/>", toe ? "toe" : "heel", placement, change);
    const std::string read = !m.text.empty() ? m.text : toe ? "\xE2\x88\xA7" : heel ? "\xE2\x88\xAA" : "";
    if (!read.empty()) {
      inner += fmt::format("<fingering placement=\"{}\"{}>{}</fingering>", placement, change, escaped(read));
    }
    if (inner.empty()) return;
    const pugi::xml_node note = r_.nodes[m.note];
    std::size_t at = std::string::npos;
    for (const pugi::xml_node child : note.children()) {
      const std::string_view name = child.name();
      if (name == "lyric" || name == "play" || name == "listen") {
        at = tag_start(child);
        break;
      }
    }
    if (at == std::string::npos) at = end_tag(text_, offset(note), "note");
    if (at == std::string::npos) return;
    edits_.push_back({at, 0, ours(fmt::format("<notations><technical>{}</technical></notations>", inner))});
  }

  [[nodiscard]] int stave_of(const Mark& m) const {
    if (m.stave >= 0) return m.stave;
    for (std::size_t i = 0; i < r_.score.staves.size(); ++i) {
      if (r_.score.staves[i].role != Role::not_played) return static_cast<int>(i);
    }
    return 0;
  }
  [[nodiscard]] int part_of(const Mark& m) const { return r_.score.staves[static_cast<std::size_t>(stave_of(m))].part; }

  struct Spot {
    std::size_t at = std::string::npos;
    Rational onset;
    Rational divisions{1};
  };

  // Places the marks of one part: each before the last note of its stave that begins no later than the mark.
  void directions(int part, const std::vector<const Mark*>& wanted) {
    std::multimap<int, const Mark*> by_bar;
    for (const Mark* m : wanted) by_bar.emplace(m->bar, m);
    Clock clock;
    for (std::size_t bar = 0; bar < r_.document.bars(); ++bar) {
      const pugi::xml_node measure = r_.document.measure(static_cast<std::size_t>(part), bar);
      const auto [first, last] = by_bar.equal_range(static_cast<int>(bar));
      std::vector<Spot> spots(static_cast<std::size_t>(std::distance(first, last)));
      Spot start;  // behind attributes and the left barline
      clock.begin_bar();
      for (const pugi::xml_node child : measure.children()) {
        if (child.type() != pugi::node_element) continue;
        std::string fault;
        const Rational at = clock.take(child, fault);
        const std::string_view name = child.name();
        const bool leads = name == "attributes" || name == "print" ||
                           (name == "barline" && std::string_view(child.attribute("location").value()) == "left");
        if (!leads && start.at == std::string::npos) start = {tag_start(child), at, clock.divisions()};
        if (name != "note" || child.child("chord")) continue;
        const int stave = whole(child.child_value("staff"), 1, 1000).value_or(1);
        std::size_t i = 0;
        for (auto m = first; m != last; ++m, ++i) {
          if (r_.score.staves[static_cast<std::size_t>(stave_of(*m->second))].number != stave) continue;
          const bool nearer = spots[i].at == std::string::npos || at > spots[i].onset;
          if (at <= m->second->at && nearer) spots[i] = {tag_start(child), at, clock.divisions()};
        }
      }
      std::size_t i = 0;
      for (auto m = first; m != last; ++m, ++i) {
        Spot spot = spots[i].at != std::string::npos ? spots[i] : start;
        if (spot.at == std::string::npos) spot = {measure_end(measure), Rational{}, clock.divisions()};
        if (spot.at == std::string::npos) continue;
        edits_.push_back({spot.at, 0, direction(*m->second, (m->second->at - spot.onset) * spot.divisions)});
      }
    }
  }

  // Before the end tag of a measure (or of a part in it) that holds no music; nowhere when it has no end tag.
  [[nodiscard]] std::size_t measure_end(pugi::xml_node measure) const {
    if (!measure || !measure.first_child()) return std::string::npos;
    return end_tag(text_, offset(measure), measure.name());
  }

  std::string direction(const Mark& m, Rational later) {
    const Stave& stave = r_.score.staves[static_cast<std::size_t>(stave_of(m))];
    const bool several = std::count_if(r_.score.staves.begin(), r_.score.staves.end(),
                                       [&](const Stave& s) { return s.part == stave.part; }) > 1;
    std::string look = m.kind == Mark::Kind::manual ? " font-weight=\"bold\"" : "";
    if (m.text.find('\n') != std::string::npos) look += " xml:space=\"preserve\"";
    std::string inner = fmt::format(
        "<direction id=\"{}{}\" placement=\"{}\"><direction-type><words{}>{}</words>"
        "</direction-type>",
        mark_prefix_, ++marks_, m.below ? "below" : "above", look, escaped(m.text));
    if (later != Rational{}) inner += fmt::format("<offset>{}</offset>", decimals(later));
    if (several) inner += fmt::format("<staff>{}</staff>", stave.number);
    return ours(inner + "</direction>");
  }

  const Reading& r_;
  const std::string& text_;
  Record record_;
  std::string mark_prefix_;
  int marks_ = 0;
  std::map<int, std::vector<const Mark*>> by_part_;
  std::vector<Edit> edits_;
};

}  // namespace

Result<std::string> write_marked(const std::string& original, const std::vector<Mark>& marks) {
  auto text = clean_text(original);
  if (!text) return tl::unexpected(text.error());
  const auto reading = read(std::move(*text), name_in_error, {});
  if (!reading) return tl::unexpected(reading.error());
  return Marker(**reading).go(marks);
}

Result<std::string> remove_marks(const std::string& marked) {
  auto text = clean_text(marked);
  if (!text) return tl::unexpected(text.error());
  return std::move(text->utf8);
}

}  // namespace calcant::musicxml
