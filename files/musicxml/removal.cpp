#include "files/musicxml/removal.hpp"

#include <fmt/format.h>

#include <pugixml.hpp>
#include <vector>

#include "files/musicxml/splice.hpp"

namespace calcant::musicxml {
namespace {

constexpr std::string_view target = "calcant";
constexpr std::string_view begins = "begin";
constexpr std::string_view ends = "end";

bool is_ours(pugi::xml_node n) { return n.type() == pugi::node_pi && n.name() == target; }
bool says(pugi::xml_node n, std::string_view what) { return is_ours(n) && n.value() == what; }

// The end that belongs to a begin: the next instruction of ours beside it.
pugi::xml_node end_of(pugi::xml_node begin) {
  for (pugi::xml_node n = begin.next_sibling(); n; n = n.next_sibling()) {
    if (is_ours(n)) return says(n, ends) ? n : pugi::xml_node{};
  }
  return {};
}

// `score ids="n" version="2.0"`; an empty prefix when it is none.
Record parsed(std::string_view value) {
  const auto quoted = [&](std::string_view name) -> std::string {
    const auto at = value.find(name);
    if (at == std::string_view::npos) return {};
    const auto from = at + name.size();
    const auto close = value.find('"', from);
    return close == std::string_view::npos ? std::string{} : std::string(value.substr(from, close - from));
  };
  return {quoted("ids=\""), quoted("version=\"")};
}

class Removal {
 public:
  Removal(const std::string& text, const pugi::xml_document& document) : text_(text), document_(document) {}

  std::string go() {
    each([&](pugi::xml_node n) { instruction(n); });
    if (!prefixes_.empty()) each([&](pugi::xml_node n) { note(n); });
    return applied(text_, std::move(edits_));
  }

 private:
  template <class F>
  void each(F visit) {
    struct Walker : pugi::xml_tree_walker {
      explicit Walker(F f) : visit(f) {}
      bool for_each(pugi::xml_node& n) override {
        visit(n);
        return true;
      }
      F visit;
    } walker(visit);
    pugi::xml_node(document_).traverse(walker);
  }

  // Where an instruction begins and where it has ended.
  [[nodiscard]] static std::size_t begin_of(pugi::xml_node instruction) { return offset(instruction) - 2; }
  [[nodiscard]] std::size_t behind(pugi::xml_node instruction) const {
    return text_.find("?>", offset(instruction)) + 2;
  }

  void instruction(pugi::xml_node n) {
    if (!is_ours(n)) return;
    const pugi::xml_node end = says(n, begins) ? end_of(n) : pugi::xml_node{};
    edits_.push_back({begin_of(n), behind(end ? end : n) - begin_of(n), {}});
    const Record r = parsed(n.value());
    if (r.prefix.empty()) return;
    prefixes_.push_back(r.prefix);
    if (prefixes_.size() == 1 && n.parent() == document_.document_element()) version(n.parent(), r.version);
  }

  // Only what is still as we made it.
  void version(pugi::xml_node root, const std::string& was) {
    if (was.empty() || root.attribute("version").value() != marked_version) return;
    const auto v = attribute_place(text_, offset(root), "version");
    if (!v) return;
    if (was == "none") edits_.push_back({v->name - 1, v->value + v->size + 1 - (v->name - 1), {}});
    else edits_.push_back({v->value, v->size, was});
  }

  void note(pugi::xml_node n) {
    if (std::string_view(n.name()) != "note") return;
    const std::string_view id = n.attribute("id").value();
    for (const std::string& prefix : prefixes_) {
      if (id.substr(0, prefix.size()) != prefix || id.size() == prefix.size()) continue;
      if (id.find_first_not_of("0123456789", prefix.size()) != std::string_view::npos) continue;
      if (const auto at = attribute_place(text_, offset(n), "id")) {
        edits_.push_back({at->name - 1, at->value + at->size + 1 - (at->name - 1), {}});
      }
      return;
    }
  }

  const std::string& text_;
  const pugi::xml_document& document_;
  std::vector<std::string> prefixes_;
  std::vector<Edit> edits_;
};

}  // namespace

std::string written_record(const Record& r) {
  return fmt::format("<?{} score ids=\"{}\" version=\"{}\"?>", target, r.prefix, r.version);
}

std::string ours(std::string_view inner) {
  return fmt::format("<?{0} {1}?>{2}<?{0} {3}?>", target, begins, inner, ends);
}

std::string without_marks(const std::string& text) {
  if (text.find(fmt::format("<?{}", target)) == std::string::npos) return text;
  pugi::xml_document document;
  const unsigned options = pugi::parse_default | pugi::parse_pi;
  if (!document.load_buffer(text.data(), text.size(), options, pugi::encoding_utf8)) return text;
  return Removal(text, document).go();
}

}  // namespace calcant::musicxml
