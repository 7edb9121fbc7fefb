#include "cli/help.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace calcant::cli {
namespace {

// Characters, not bytes: our help holds a few letters beyond ASCII.
std::size_t letters(std::string_view s) {
  return static_cast<std::size_t>(
      std::count_if(s.begin(), s.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

std::string usage(const Command& c) {
  std::string s = "calcant ";
  s += c.name;
  for (const auto& a : c.arguments) s += a.optional ? fmt::format(" [{}]", a.name) : fmt::format(" {}", a.name);
  for (const auto& o : c.options) {
    if (o.required) s += fmt::format(" {} {}", o.name, o.value);
  }
  s += " [options]";
  return s;
}

}  // namespace

std::string wrapped(std::string_view text, int indent, int width) {
  std::string out;
  const std::string margin(static_cast<std::size_t>(indent), ' ');
  const auto room = static_cast<std::size_t>(std::max(20, width - indent));
  std::size_t at = 0;
  while (at <= text.size()) {
    const std::size_t line_end = std::min(text.find('\n', at), text.size());
    std::string line;
    std::size_t word = at;
    while (word < line_end) {
      const std::size_t end = std::min(text.find(' ', word), line_end);
      const std::string_view w = text.substr(word, end - word);
      if (!line.empty() && letters(line) + 1 + letters(w) > room) {
        out += margin + line + '\n';
        line.clear();
      }
      if (!line.empty()) line += ' ';
      line += w;
      word = end + 1;
    }
    out += line.empty() ? std::string{"\n"} : margin + line + '\n';
    at = line_end + 1;
  }
  return out;
}

std::string columns(const std::vector<std::pair<std::string, std::string>>& rows, int indent) {
  std::size_t widest = 0;
  for (const auto& [left, right] : rows) {
    if (letters(left) <= 30) widest = std::max(widest, letters(left));
  }
  std::string out;
  const int second = indent + static_cast<int>(widest) + 2;
  for (const auto& [left, right] : rows) {
    std::string text = wrapped(right, second);
    const std::string head = std::string(static_cast<std::size_t>(indent), ' ') + left;
    if (letters(left) > widest) {
      out += head + '\n' + text;
    } else {
      text.replace(0, static_cast<std::size_t>(second),
                   head + std::string(static_cast<std::size_t>(second) - letters(head), ' '));
      out += text;
    }
  }
  return out;
}

std::string help(const Command& c) {
  std::string s = fmt::format("{}\n\n    {}\n\n", c.summary, usage(c));
  s += wrapped(c.about, 0);
  std::vector<std::pair<std::string, std::string>> rows;
  for (const auto& a : c.arguments) rows.emplace_back(a.name, a.help);
  if (!rows.empty()) s += "\n" + columns(rows);
  rows.clear();
  for (const auto& o : c.options) {
    std::string text = o.help;
    if (!o.choices.empty()) text += fmt::format(" ({})", fmt::join(o.choices, ", "));
    if (!o.otherwise.empty()) text += fmt::format(" [{}]", o.otherwise);
    if (o.many) text += "; may be given several times";
    rows.emplace_back(o.value.empty() ? o.name : o.name + " " + o.value, text);
  }
  if (c.reports) rows.emplace_back("--json", "answer, or say what is wrong, in JSON on standard output");
  rows.emplace_back("--help", "show this");
  s += "\nOptions\n" + columns(rows);
  if (!c.examples.empty()) s += "\nExamples\n";
  for (const auto& e : c.examples) s += fmt::format("  {}\n{}", e.line, wrapped(e.does, 6));
  return s;
}

std::string help(const std::vector<Group>& groups) {
  std::string s =
      "Calcant: one computable model of one pipe organ, for its resident organist.\n\n"
      "    calcant COMMAND ... \n\n";
  s.erase(s.rfind(" \n"), 1);
  for (const auto& g : groups) {
    s += g.title + "\n";
    std::vector<std::pair<std::string, std::string>> rows;
    for (const auto& c : g.commands) rows.emplace_back(c.name, c.summary);
    s += columns(rows) + "\n";
  }
  s += "'calcant COMMAND --help' explains one of them, with examples. ORGAN is an organ folder or its organ.toml.\n"
       "--json answers in JSON where a command reports.\n\n"
       "Exit codes: 0 done; 1 it cannot be done as asked (the sentence says why); 2 the words were not understood;\n"
       "3 stopped by Ctrl-C; 4 a fault in Calcant itself.\n";
  return s;
}

}  // namespace calcant::cli
