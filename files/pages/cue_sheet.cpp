#include "files/pages/cue_sheet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>

#include "engine/quantity/day_words.hpp"
#include "engine/quantity/listed.hpp"
#include "files/pages/cue_words.hpp"
#include "files/pages/html.hpp"
#include "files/pages/sheet_items.hpp"

namespace calcant {
namespace {

// Sizes in ems of the side's letters, as SheetMeasures has them.
constexpr std::string_view css = R"(
@page { margin: 10mm 13mm; }
body { max-width: 184mm; }
.side { page-break-after: always; break-after: page; line-height: 1.24; }
.side:last-child { page-break-after: auto; break-after: auto; }
header { display: flex; justify-content: space-between; align-items: baseline; gap: 2em; border-bottom: 1.2pt solid #000;
  padding-bottom: .25em; margin-bottom: .4em; }
header h1 { font-size: 1.3em; font-weight: 600; line-height: 1.1; }
header .organ { text-align: right; line-height: 1.15; white-space: nowrap; }
.item { margin-top: .55em; break-inside: avoid; }
.item:first-of-type { margin-top: 0; }
.broken .item { break-inside: auto; }
.item > h2 { font-size: 1.2em; font-weight: 600; break-after: avoid; }
.item > h2 .number { display: inline-block; min-width: 3.417em; }
.item > h2 .about { font-weight: 400; font-size: .833em; font-style: italic; padding-left: .4em; }
.over { margin-left: 4.1em; }
.step { display: grid; grid-template-columns: 4.1em 1fr; margin-top: .16em; break-inside: avoid; }
.which { font-weight: 700; white-space: nowrap; }
.k { white-space: nowrap; }
.ends { padding-right: .85em; }
.lead { font-variant: small-caps; letter-spacing: .02em; }
.change, .fresh, .place { font-weight: 700; }
.when { font-style: italic; }
.dynamic { font-style: italic; font-weight: 700; }
.helper { border: 1pt solid #000; padding: 0 .25em; font-weight: 700; margin-right: .85em; }
footer { border-top: .6pt solid #000; margin-top: .6em; padding-top: .2em; }
.back { font-size: 12.5pt; }
.back h2 { font-size: 1.15em; font-weight: 600; margin: .9em 0 .15em; break-after: avoid; }
.back p { margin-top: .2em; break-inside: avoid; }
.back .source { font-style: italic; }
)";

std::string_view class_of(SheetPhrase::Look look) {
  using Look = SheetPhrase::Look;
  switch (look) {
    case Look::fresh: return "fresh";
    case Look::change: return "change";
    case Look::when: return "when";
    case Look::dynamic: return "dynamic";
    case Look::helper: return "helper";
    case Look::place: return "place";
    case Look::word:
    case Look::plain: break;
  }
  return "k";
}

std::string line_of(const std::vector<SheetPhrase>& phrases) {
  std::string out;
  for (const SheetPhrase& p : phrases) {
    if (!out.empty()) out += " ";
    const std::string text = escaped(p.look == SheetPhrase::Look::word ? p.text : tied(p.text));
    const std::string name = fmt::format("<span class=\"{}{}\">{}</span>", class_of(p.look),
                                         p.ends_group && p.lead.empty() ? " ends" : "", text);
    // A division's name stays with its first stop.
    out += p.lead.empty() ? name
                          : fmt::format("<span class=\"k{}\"><span class=\"lead\">{}</span> {}</span>",
                                        p.ends_group ? " ends" : "", escaped(p.lead), name);
  }
  return out;
}

std::string item_html(const SheetItem& item) {
  std::string out = "<section class=\"item\">\n<h2>";
  if (!item.number.empty()) out += fmt::format("<span class=\"number\">{}</span>", escaped(item.number));
  out += escaped(item.title);
  if (!item.about.empty()) out += fmt::format(" <span class=\"about\">{}</span>", escaped(item.about));
  out += "</h2>\n";
  for (const std::string& note : item.notes) out += fmt::format("<p class=\"over\">{}</p>\n", escaped(note));
  for (const SheetStep& step : item.steps) {
    out += fmt::format("<div class=\"step\"><div class=\"which\">{}</div><div>", escaped(step.label));
    for (const auto* line : {&step.change, &step.state}) {
      if (!line->empty()) out += fmt::format("<div>{}</div>", line_of(*line));
    }
    out += "</div></div>\n";
  }
  return out + "</section>\n";
}

// As a sentence begins and ends, whatever found it.
std::string as_sentence(std::string text) {
  if (text.empty()) return text;
  text[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(text[0])));
  if (std::string_view(".!?:").find(text.back()) == std::string_view::npos) text += '.';
  return text;
}

std::string reason_of(const Section& s) {
  std::string out;
  for (const std::string& w : s.why) out += escaped(as_sentence(w)) + " ";
  return out;
}
std::string advice_of(const Advice& a) {
  return fmt::format("{} <span class=\"source\">({}, {})</span>",
                     escaped(as_sentence(fmt::format("{}: {}", a.found, a.why))), escaped(a.rule), escaped(a.source));
}

// A text, with the sections it holds for; said once.
using Said = std::vector<std::pair<std::vector<std::string>, std::string>>;
void say(Said& list, const std::string& label, std::string text) {
  const auto at = std::find_if(list.begin(), list.end(), [&](const auto& r) { return r.second == text; });
  if (at == list.end()) list.push_back({{label}, std::move(text)});
  else if (at->first.back() != label) at->first.push_back(label);
}

// "Verses 1, 2 and 4", "Play-over and verse 1".
std::string labels_together(std::vector<std::string> labels) {
  constexpr std::string_view verse = "Verse ";
  const bool verses = labels.size() > 1 &&
                      std::all_of(labels.begin(), labels.end(), [&](const auto& l) { return l.starts_with(verse); });
  for (std::size_t i = 0; i < labels.size(); ++i) {
    if (verses) labels[i].erase(0, verse.size());
    else if (i > 0 && labels[i].starts_with(verse)) labels[i][0] = 'v';
  }
  return fmt::format("{}{}", verses ? "Verses " : "", listed(labels));
}

// What was assumed for more than one item is said once, at the end.
bool of_several(const Plan& plan, const std::string& remark) {
  return std::count_if(plan.items.begin(), plan.items.end(), [&](const Item& it) {
           return std::find(it.remarks.begin(), it.remarks.end(), remark) != it.remarks.end();
         }) > 1;
}

std::string back(const Organ& organ, const Plan& plan, const CueSheet& sheet) {
  std::string out;
  std::vector<std::string> rests_on;
  for (const Item& it : plan.items) {
    out += fmt::format("<h2>{}{}{}</h2>\n", escaped(it.number), it.number.empty() ? "" : " ", escaped(it.title));
    Said reasons;
    Said advice;
    for (const Section& section : it.sections) {
      say(reasons, section.label, reason_of(section));
      for (const Advice& a : section.advice) say(advice, section.label, advice_of(a));
    }
    for (const auto* list : {&reasons, &advice}) {
      for (const auto& [labels, text] : *list)
        out += fmt::format("<p><b>{}.</b> {}</p>\n", escaped(labels_together(labels)), text);
    }
    for (const std::string& r : it.remarks) {
      if (!of_several(plan, r)) out += fmt::format("<p>{}</p>\n", escaped(as_sentence(r)));
      else if (std::find(rests_on.begin(), rests_on.end(), r) == rests_on.end()) rests_on.push_back(r);
    }
  }
  for (const auto* list : {&plan.remarks, &sheet.remarks}) rests_on.insert(rests_on.end(), list->begin(), list->end());
  out += "<h2>What it rests on</h2>\n";
  for (const std::string& r : rests_on) out += fmt::format("<p>{}</p>\n", escaped(as_sentence(r)));
  out += "<p>Levels are computed from the organ\u2019s description and the church\u2019s; your ear decides.</p>\n";
  if (organ.invented) out += "<p class=\"invented\">Invented organ: no such instrument exists.</p>\n";
  return out;
}

// "unison, praise; \u201cno reed\u201d is not followed".
std::string what_was_said(const Section& s) {
  std::string out = s.kind == "harmony" || s.kind == "unaccompanied" ? "" : s.kind;
  if (!s.wish.empty() && s.wish != s.kind) out += (out.empty() ? "" : ", ") + s.wish;
  if (!s.note.empty()) out += (out.empty() ? "" : "; ") + s.note;
  return out;
}

std::string heading_of(const Organ& organ, const Plan& plan, const CueSheet& sheet) {
  if (!sheet.heading.empty()) return sheet.heading;
  if (plan.items.size() == 1) return plan.items.front().title;
  return sheet.date.empty() ? organ.name : day_in_words(sheet.date);
}

std::string header(const Organ& organ, const std::string& title) {
  std::string organ_line = escaped(organ.name);
  if (organ.invented) organ_line += "<br><span class=\"invented\">Invented organ</span>";
  return fmt::format("<header><h1>{}</h1><div class=\"organ\">{}</div></header>\n", escaped(title), organ_line);
}

std::string reasons(const Organ& organ, const Plan& plan, const CueSheet& sheet) {
  return "<section class=\"side back\">\n" + header(organ, "Why it is so") + back(organ, plan, sheet) + "</section>\n";
}

std::string footer(const CueSheet& sheet) {
  std::string foot = sheet.date.empty() ? "No date given" : escaped(day_in_words(sheet.date));
  foot += ". ";
  foot += sheet.faults.empty() ? "No faults are known. "
                               : "Allowed for: " + escaped(fmt::format("{}", fmt::join(sheet.faults, "; "))) + ". ";
  return fmt::format("<footer>{}{}</footer>\n", foot,
                     escaped(as_sentence(sheet.heard.empty() ? "not yet heard here" : sheet.heard)));
}

}  // namespace

std::string cue_sheet_html(const Organ& organ, const Plan& plan, const CueSheet& sheet) {
  const SheetSize size = sheet_size(organ, plan);
  const std::string heading = heading_of(organ, plan, sheet);
  std::string body = fmt::format("<main class=\"side front{}\">\n", size.items_whole ? "" : " broken");
  body += header(organ, heading);
  for (const SheetItem& item : sheet_items(organ, plan, size.detail)) body += item_html(item);
  body += footer(sheet) + "</main>\n";
  if (size.sides == 1) body += reasons(organ, plan, sheet);
  return page(heading + ", cue sheet",
              fmt::format("{}.front {{ font-size: {}pt; line-height: {}; }}\n", css, size.points, size.line), body);
}

std::string reasons_html(const Organ& organ, const Plan& plan, const CueSheet& sheet) {
  return page(heading_of(organ, plan, sheet) + ", why it is so", css, reasons(organ, plan, sheet));
}

std::string cue_sheet_text(const Organ& organ, const Plan& plan) {
  std::string out;
  for (std::size_t i = 0; i < plan.items.size(); ++i) {
    const Item& it = plan.items[i];
    out += fmt::format("{}{}{}{}{}\n", it.number, it.number.empty() ? "" : "  ", it.title,
                       it.subtitle.empty() ? "" : ", ", it.subtitle);
    for (const std::string& note : it.notes) out += fmt::format("  {}\n", note);
    for (std::size_t s = 0; s < it.sections.size(); ++s) {
      const Section& section = it.sections[s];
      const Cues cues = cues_to(plan, i, s);
      const bool first = i == 0 && s == 0;
      if (it.kind == ItemKind::piece && cues.empty() && s > 0 && section.note.empty()) continue;
      std::string label = section.label;
      if (const auto at = label.find(", second half"); at != std::string::npos) label = label.substr(0, at) + "b";
      // "Bar 10, beat 1"; a place with more to say for itself stands out into the line.
      std::string line =
          it.kind == ItemKind::piece ? fmt::format("  {:<15} ", label + " ") : fmt::format("  {:<10} ", label);
      if (first || !cues.empty()) {
        std::string what;
        if (first) {
          for (const KnobGroup& g : groups(organ, section.drawn)) {
            for (const Knob k : g.knobs) what += (what.empty() ? "" : ", ") + plain_name(organ, k, true);
          }
          std::vector<std::string> how = boxes_words(organ, section.drawn);
          if (std::string hands = keyboard_words(organ, section.keyboards, true); !hands.empty())
            how.push_back(std::move(hands));
          for (const std::string& h : how) what += (what.empty() ? "" : "; ") + h;
        }
        for (const Cue* c : cues) {
          if (first) break;
          what += fmt::format("{}{}", what.empty() ? "" : "  ",
                              fmt::join(change_words(organ, *c, hands_before(plan, i, s), true), "  "));
          if (c->mover == Mover::helper) what += "  [helper]";
        }
        line += what;
      } else {
        line += section.kind == "unaccompanied" ? "unaccompanied" : "as before";
      }
      if (const std::string said = what_was_said(section); !said.empty()) line += fmt::format("  ({})", said);
      out += line + "\n";
    }
  }
  return out;
}

}  // namespace calcant
