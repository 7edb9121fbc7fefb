#include "files/organfile/toml_tree.hpp"

#include <algorithm>
#include <optional>

#include "engine/quantity/typed.hpp"
#include "files/toml/library.hpp"

namespace calcant::toml_tree {
namespace {

Place place(const toml::source_region& source) {
  return {static_cast<int>(source.begin.line), static_cast<int>(source.begin.column)};
}

Value convert(const toml::node& node, int depth) {
  Value out;
  out.place = place(node.source());
  if (depth > deepest) return out;
  if (const auto* s = node.as_string()) {
    out.kind = Value::Kind::text;
    out.text = s->get();
  } else if (const auto* i = node.as_integer()) {
    out.kind = Value::Kind::whole;
    out.whole = i->get();
    out.real = static_cast<double>(out.whole);
  } else if (const auto* f = node.as_floating_point()) {
    out.kind = Value::Kind::real;
    out.real = f->get();
  } else if (const auto* b = node.as_boolean()) {
    out.kind = Value::Kind::truth;
    out.truth = b->get();
  } else if (const auto* a = node.as_array()) {
    out.kind = Value::Kind::list;
    for (const toml::node& item : *a) out.list.push_back(convert(item, depth + 1));
  } else if (const auto* t = node.as_table()) {
    out.kind = Value::Kind::table;
    for (const auto& [key, value] : *t) {
      out.table.push_back({std::string{key.str()}, place(key.source()), convert(value, depth + 1)});
    }
    std::sort(out.table.begin(), out.table.end(), [](const Entry& x, const Entry& y) { return x.place < y.place; });
  }
  return out;
}

std::size_t first_of_line(const std::string& text, int line) {
  std::size_t at = 0;
  for (int l = 1; l < line; ++l) {
    at = text.find('\n', at);
    if (at == std::string::npos) return text.size();
    ++at;
  }
  return at;
}

// The nearest line at or above that opens a table; 0 when there is none.
int header_above(const std::string& text, int line) {
  int found = 0;
  std::size_t at = 0;
  for (int l = 1; l <= line && at < text.size(); ++l) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    const std::string_view s = trimmed(std::string_view{text}.substr(at, end - at));
    if (!s.empty() && s.front() == '[') found = l;
    at = end + 1;
  }
  return found;
}

struct Attempt {
  std::optional<Value> root;
  SyntaxFault fault;  // where there is no root
};

// The first header whose name does not begin as a name can.
Place strange_header(const std::string& text) {
  int line = 1;
  for (std::size_t at = 0; at < text.size(); ++line) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    const std::string_view s = trimmed(std::string_view{text}.substr(at, end - at));
    if (!s.empty() && s.front() == '[') {
      const std::size_t key = s.find_first_not_of("[ \t");
      const char c = key == std::string_view::npos ? '\0' : s[key];
      const bool name = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' ||
                        c == '_' || c == '"' || c == '\'';
      if (!name) return {line, 1};
    }
    at = end + 1;
  }
  return {1, 1};
}

Attempt attempt(const std::string& text) {
  try {
    const toml::parse_result result = toml::parse(std::string_view{text});
    if (result) return {convert(result.table(), 0), {}};
    return {std::nullopt, {place(result.error().source()), std::string{result.error().description()}}};
  } catch (const toml_library::TakenForGranted&) {
    return {std::nullopt, {strange_header(text), "a table is named by letters, figures and hyphens, as in [[stop]]"}};
  }
}

}  // namespace

Tree parse(std::string_view text) {
  Tree tree;
  tree.root.kind = Value::Kind::table;
  std::string left{text};
  int last_line = -1;
  for (int tries = 0; tries <= most_syntax_faults; ++tries) {
    Attempt got = attempt(left);
    if (got.root) {
      tree.root = std::move(*got.root);
      return tree;
    }
    const Place at = got.fault.place;
    // A line that is no TOML is told and read as if it were empty, so that the rest can be told too. A fault
    // right below the last, or at the very end, is most likely the same one (an open list or text) seen
    // again.
    const bool again = last_line >= 0 && at.line >= last_line && at.line <= last_line + 1;
    if (!again) tree.faults.push_back(got.fault);
    const std::size_t begin = first_of_line(left, at.line);
    const std::size_t end = std::min(left.find('\n', begin), left.size());
    const std::string_view line = trimmed(std::string_view{left}.substr(begin, end - begin));
    const bool last = end >= left.size() && begin >= left.size();
    if (line.empty() || again || last) {
      // Nothing sensible can be read past this: keep the tables before the one it stands in.
      tree.names_lost = true;
      const int header = header_above(left, std::min(at.line, last_line < 0 ? at.line : last_line));
      left.resize(header > 0 ? first_of_line(left, header) : 0);
      if (Attempt before = attempt(left); before.root) tree.root = std::move(*before.root);
      return tree;
    }
    tree.damaged_headers.push_back(header_above(left, at.line));
    if (line.front() == '[' || line.substr(0, 2) == "id") tree.names_lost = true;
    last_line = at.line;
    left.replace(begin, end - begin, std::string(end - begin, ' '));
  }
  tree.names_lost = true;
  return tree;
}

}  // namespace calcant::toml_tree
