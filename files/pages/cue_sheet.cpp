#include "files/pages/cue_sheet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "files/pages/cue_words.hpp"
#include "files/pages/html.hpp"

namespace calcant {
namespace {

constexpr std::string_view css = R"(
.side { page-break-after: always; break-after: page; }
.side:last-child { page-break-after: auto; break-after: auto; }
header { display: flex; justify-content: space-between; align-items: baseline; border-bottom: 1.2pt solid #000;
  padding-bottom: 1.5mm; margin-bottom: 2.5mm; }
header h1 { font-size: 19pt; font-weight: 600; line-height: 1.1; }
header .organ { font-size: 14pt; text-align: right; }
.item { margin-top: 3.2mm; break-inside: avoid; }
.item:first-of-type { margin-top: 0; }
.item > h2 { font-size: 17pt; font-weight: 600; line-height: 1.15; }
.item > h2 .number { display: inline-block; min-width: 17mm; }
.item > h2 .about { font-weight: 400; font-size: 14pt; font-style: italic; }
.over { margin-left: 17mm; }
.step { display: grid; grid-template-columns: 17mm 1fr; margin-top: 1.6mm; break-inside: avoid; }
.tight .step { margin-top: .5mm; }
.tight .item { margin-top: 2mm; break-inside: auto; }
.tight .item > h2 { break-after: avoid; }
.step .which { font-weight: 700; font-size: 17pt; line-height: 1.05; }
.step .which { white-space: nowrap; }
.step .which.bars { font-size: 14pt; line-height: 1.28; }
.change { font-weight: 700; }
.change .at { font-weight: 400; font-style: italic; }
.state .div { white-space: nowrap; }
.state .label { font-variant: small-caps; letter-spacing: .02em; }
.state b { font-weight: 700; }
.k { white-space: nowrap; }
.group { padding-right: .55em; }
.helper { border: 1pt solid #000; padding: 0 1.2mm; font-weight: 700; }
footer { border-top: .6pt solid #000; margin-top: 3.5mm; padding-top: 1.2mm; }
.sheet { font-size: 12.5pt; line-height: 1.2; }
.sheet header { margin-bottom: 1.5mm; }
.sheet header h1 { font-size: 16pt; }
.sheet header .organ { font-size: 12.5pt; white-space: nowrap; }
.sheet .item { margin-top: 2mm; }
.sheet .item > h2 { font-size: 14pt; }
.sheet .item > h2 .about { font-size: 12.5pt; }
.sheet .item > h2 .number { min-width: 14mm; }
.sheet .over { margin-left: 14mm; }
.sheet .step { grid-template-columns: 14mm 1fr; margin-top: .4mm; }
.sheet .step .which { font-size: 14pt; }
.sheet .step .which.bars { font-size: 12.5pt; line-height: 1.2; }
.back h2 { font-size: 16pt; font-weight: 600; margin: 4mm 0 .8mm; }
.back h3 { font-size: 14pt; font-weight: 700; margin-top: 1.8mm; }
.back p { margin-top: .6mm; }
.back .source { font-style: italic; }
)";

class Sheet {
 public:
  Sheet(const Organ& organ, const Plan& plan, bool brief) : organ_(organ), plan_(plan), brief_(brief) {}

  std::string items() {
    std::string out;
    for (std::size_t i = 0; i < plan_.items.size(); ++i) out += item(i);
    return out;
  }

 private:
  std::string item(std::size_t i) {
    const Item& it = plan_.items[i];
    std::string out = "<section class=\"item\">\n<h2>";
    if (!it.number.empty()) out += fmt::format("<span class=\"number\">{}</span>", escaped(it.number));
    out += escaped(it.title);
    if (!it.subtitle.empty()) out += fmt::format(" <span class=\"about\">{}</span>", escaped(it.subtitle));
    out += "</h2>\n";
    const bool over = !it.play_over.empty() && it.sections.size() > 1;
    // A play-over with a registration of its own is a step like a verse.
    const bool own_over = over && it.sections[0].drawn != it.sections[1].drawn;
    if (over) {
      std::string text = it.play_over.front();
      if (it.play_over.size() > 1 && (!brief_ || own_over)) text += ", " + it.play_over.back();
      out += fmt::format("<p class=\"over\">Play-over: {}.</p>\n", escaped(text));
    }
    for (const std::string& note : it.notes) out += fmt::format("<p class=\"over\">{}.</p>\n", escaped(note));
    const std::size_t first = over && !own_over ? 1 : 0;
    for (std::size_t s = first; s < it.sections.size(); ++s) {
      // What is drawn for the play-over is verse 1's state: its cue belongs to the first step that is printed.
      Cues c = cues_to(plan_, i, s);
      std::size_t came = s;
      if (s == 1 && first == 1) {
        const Cues before = cues_to(plan_, i, 0);
        c.insert(c.begin(), before.begin(), before.end());
        came = 0;
      }
      // In a piece a dynamic that moves nothing needs no line.
      if (it.kind == ItemKind::piece && c.empty() && s > 0) continue;
      // Verses that go on as they are, and want nothing said of them, share one line.
      std::size_t last = s;
      const bool run = brief_ && c.empty();  // where room is short, with all their words
      while (last + 1 < it.sections.size() && cues_to(plan_, i, last + 1).empty() &&
             alike(it.sections[s], it.sections[last + 1], run))
        ++last;
      Section shown = it.sections[s];
      if (run && last > s) shown.wish = words_of(it, s, last);
      out += step(it, shown, last > s ? &it.sections[last] : nullptr, c, hands_before(plan_, i, came),
                  i == 0 && s == first);
      s = last;
    }
    return out + "</section>\n";
  }

  // "v2 gentle, v4 dark": of verses that share a line.
  static std::string words_of(const Item& it, std::size_t from, std::size_t to) {
    std::string out;
    for (std::size_t s = from; s <= to; ++s) {
      if (!it.sections[s].wish.empty())
        out +=
            fmt::format("{}{} {}", out.empty() ? "" : ", ", margin(it, it.sections[s], nullptr), it.sections[s].wish);
    }
    return out;
  }

  static bool alike(const Section& a, const Section& b, bool whatever_the_word) {
    const auto whole = [](const Section& s) {
      return s.label.starts_with("Verse ") && s.label.find(',') == std::string::npos;
    };
    return whole(a) && whole(b) && a.kind == b.kind && (whatever_the_word || a.wish == b.wish);
  }

  // "v3", "v2\u20133", "v4 2nd half", "b17": short enough for the margin; else it heads the line.
  static std::string margin(const Item& it, const Section& section, const Section* to) {
    std::string label = section.label;
    if (label.starts_with("Verse ")) {
      label = "v" + label.substr(6);
      if (to != nullptr) label += "\u2013" + to->label.substr(6);
      if (const auto at = label.find(", second half"); at != std::string::npos) label = label.substr(0, at) + "b";
      if (const auto at = label.find(", line "); at != std::string::npos)
        label = label.substr(0, at) + " l" + label.substr(at + 7);
    } else if (it.kind == ItemKind::piece && label.starts_with("Bar ")) {
      label = "b" + label.substr(3, label.find(',') - 3);
    } else if (label == "Throughout") {
      label.clear();
    }
    return label;
  }

  std::string step(const Item& it, const Section& section, const Section* to, const Cues& cues,
                   const HandsAndFeet& from, bool first) {
    constexpr std::size_t margin_letters = 9;
    const std::string label = margin(it, section, to);
    const bool in_margin = label.size() <= margin_letters;
    std::string out =
        fmt::format("<div class=\"step\"><div class=\"which{}\">{}</div><div>",
                    label.starts_with("v") && label.size() <= 3 ? "" : " bars", in_margin ? escaped(label) : "");
    std::string head;
    if (!in_margin) head = fmt::format("<span>{}:</span>", escaped(label));
    bool knobs_move = first;
    if (!first) {
      for (const Cue* c : cues) {
        std::string part;
        for (const std::string& w : change_words(organ_, *c, from, brief_))
          part += fmt::format("{}<span>{}</span>", part.empty() ? "" : " &ensp; ", escaped(w));
        if (!part.empty()) part += fmt::format(" <span class=\"at\">{}</span>", escaped(when_words(it, section, *c)));
        if (c->mover == Mover::helper) part += " <span class=\"helper\">helper</span>";
        head += (head.empty() ? "" : " &ensp; ") + part;
        knobs_move = knobs_move || !c->draw.empty() || !c->put_in.empty();
      }
    }
    std::string about;
    if (!section.kind.empty() && section.kind != "harmony") about = section.kind;
    if (!section.wish.empty()) about += (about.empty() ? "" : ", ") + section.wish;
    if (section.fixed) about += about.empty() ? "fixed" : ", fixed";
    if (!about.empty())
      head += fmt::format("{}<span class=\"at\">{}</span>", head.empty() ? "" : " &ensp; ", escaped(about));
    if (cues.empty() && !first && !section.kind.starts_with("unacc"))
      head = "<span class=\"at\">as before</span>" + std::string(head.empty() ? "" : " &ensp; ") + head;
    if (!head.empty()) out += fmt::format("<div class=\"change\">{}</div>", head);
    // In a piece, and where room is short, the state is printed where a knob moves: the other manual or the box leave it
    // as it is.
    if ((it.kind != ItemKind::piece && !brief_) || knobs_move)
      out += "<div class=\"state\">" + state(section, cues, first) + "</div>";
    out += "</div></div>\n";
    return out;
  }

  std::string state(const Section& section, const Cues& cues, bool first) {
    std::string out;
    for (const KnobGroup& g : groups(organ_, section.drawn)) {
      if (g.knobs.empty()) continue;
      const std::string label =
          g.label == "Couplers"
              ? ""
              : fmt::format("<span class=\"label\">{}</span> ", escaped(brief_ ? short_division(g.label) : g.label));
      std::string list;
      for (const Knob k : g.knobs) {
        const std::string name = escaped(name_of(organ_, k, brief_));
        // The division's name stays with its first stop, a stop's name in one piece, and what parts it from the next with it.
        const char* parting = k == g.knobs.back() ? "" : brief_ ? "," : "&thinsp;&middot;";
        list += fmt::format("{}<span class=\"k\">{}{}{}</span>", list.empty() ? "" : " ", list.empty() ? label : "",
                            !first && is_new(cues, k) ? "<b>" + name + "</b>" : name, parting);
      }
      out += fmt::format("<span class=\"group\">{}</span> ", list);
    }
    std::string tail;
    for (std::size_t b = 0; b < organ_.boxes.size(); ++b) {
      const bool used = std::any_of(organ_.stops.begin(), organ_.stops.end(), [&](const Stop& s) {
        return organ_.divisions[static_cast<std::size_t>(s.division)].box == static_cast<BoxIndex>(b) &&
               section.drawn.stops[static_cast<std::size_t>(&s - organ_.stops.data())];
      });
      if (used) tail += fmt::format("box {}; ", box_words(section.drawn.box[b]));
    }
    tail += keyboard_words(organ_, section.keyboards, brief_);
    while (!tail.empty() && (tail.back() == ' ' || tail.back() == ';')) tail.pop_back();
    if (!tail.empty()) out += fmt::format("<span class=\"group\"><i>{}</i></span>", escaped(tail));
    return out;
  }

  const Organ& organ_;
  const Plan& plan_;
  bool brief_;
};

// Lines the front takes, counted generously: so many letters a line, the label's column left out.
double lines_taken(const Organ& organ, const Plan& plan, bool brief, double letters_a_line) {
  double lines = 0;
  for (std::size_t i = 0; i < plan.items.size(); ++i) {
    const Item& it = plan.items[i];
    lines += 1.5 + (it.play_over.empty() ? 0 : 1) + static_cast<double>(it.notes.size());
    const bool over = !it.play_over.empty() && it.sections.size() > 1;
    for (std::size_t s = over ? 1 : 0; s < it.sections.size(); ++s) {
      const Cues cues = cues_to(plan, i, s);
      if (cues.empty() && s > (over ? 1U : 0U) &&
          (it.kind == ItemKind::piece || it.sections[s].wish == it.sections[s - 1].wish))
        continue;
      const bool moved =
          std::any_of(cues.begin(), cues.end(), [](const Cue* c) { return !c->draw.empty() || !c->put_in.empty(); });
      if ((it.kind == ItemKind::piece || brief) && !moved && (s > 0 || i > 0)) {
        lines += 1.1;
        continue;
      }
      std::size_t letters = 24;
      for (const Knob k : knobs(organ, it.sections[s].drawn))
        letters += name_of(organ, k, brief).size() + (brief ? 2 : 3);
      lines += std::ceil(static_cast<double>(letters) / letters_a_line) + (brief ? 0.1 : 0.3);
      if (i > 0 || s > (over ? 1U : 0U)) lines += 1;
    }
  }
  return lines;
}

// At 14 point one side, at 12.5 point both sides of a sheet.
constexpr double lines_on_a_side = 38;
constexpr double letters_at_14 = 74;
constexpr double lines_on_a_sheet = 92;
constexpr double letters_at_12 = 84;

std::string back(const Organ& organ, const Plan& plan, const CueSheet& sheet) {
  std::string out;
  for (const Item& it : plan.items) {
    out += fmt::format("<h2>{}{}{}</h2>\n", escaped(it.number), it.number.empty() ? "" : " ", escaped(it.title));
    for (const Section& s : it.sections) {
      std::string text;
      for (const std::string& w : s.why) text += escaped(w) + " ";
      for (const Advice& a : s.advice) {
        text += fmt::format("{}: {} <span class=\"source\">({}, {})</span> ", escaped(a.found), escaped(a.why),
                            escaped(a.rule), escaped(a.source));
      }
      out += fmt::format("<p><b>{}.</b> {}</p>\n", escaped(s.label), text);
    }
    for (const std::string& r : it.remarks) out += fmt::format("<p>{}</p>\n", escaped(r));
  }
  if (!plan.remarks.empty() || !sheet.remarks.empty()) out += "<h2>What it rests on</h2>\n";
  for (const auto* list : {&plan.remarks, &sheet.remarks}) {
    for (const std::string& r : *list) out += fmt::format("<p>{}</p>\n", escaped(r));
  }
  out += "<p>Levels are computed from the organ\u2019s description and the church\u2019s; your ear decides.</p>\n";
  if (organ.invented) out += "<p class=\"invented\">Invented organ: no such instrument exists.</p>\n";
  return out;
}

}  // namespace

Density density(const Organ& organ, const Plan& plan) {
  if (lines_taken(organ, plan, false, letters_at_14) <= lines_on_a_side) return Density::full;
  if (lines_taken(organ, plan, true, letters_at_14) <= lines_on_a_side) return Density::abbreviated;
  return lines_taken(organ, plan, true, letters_at_12) <= lines_on_a_sheet ? Density::both_sides : Density::overflowing;
}

namespace {

std::string heading_of(const Organ& organ, const Plan& plan, const CueSheet& sheet) {
  return !sheet.heading.empty() ? sheet.heading : plan.items.size() == 1 ? plan.items.front().title : organ.name;
}

std::string header(const Organ& organ, const std::string& title) {
  std::string organ_line = escaped(organ.name);
  if (organ.invented) organ_line += "<br><span class=\"invented\">Invented organ</span>";
  return fmt::format("<header><h1>{}</h1><div class=\"organ\">{}</div></header>\n", escaped(title), organ_line);
}

std::string reasons(const Organ& organ, const Plan& plan, const CueSheet& sheet) {
  return "<section class=\"side back\">\n" + header(organ, "Why it is so") + back(organ, plan, sheet) + "</section>\n";
}

}  // namespace

std::string cue_sheet_html(const Organ& organ, const Plan& plan, const CueSheet& sheet) {
  const Density d = density(organ, plan);
  const bool brief = d != Density::full;
  const bool one_side = d == Density::full || d == Density::abbreviated;
  const std::string heading = heading_of(organ, plan, sheet);
  std::string foot = sheet.date.empty() ? "No date given" : escaped(sheet.date);
  foot += ". ";
  foot += sheet.faults.empty() ? "No faults are known. "
                               : "Allowed for: " + escaped(fmt::format("{}", fmt::join(sheet.faults, "; "))) + ". ";
  std::string heard = sheet.heard.empty() ? "not yet heard here" : sheet.heard;
  heard[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(heard[0])));
  foot += escaped(heard) + ".";

  std::string body = fmt::format("<main class=\"side front{}{}\">\n", brief ? " tight" : "", one_side ? "" : " sheet");
  body += header(organ, heading);
  body += Sheet(organ, plan, brief).items();
  body += fmt::format("<footer>{}</footer>\n</main>\n", foot);
  if (one_side) body += reasons(organ, plan, sheet);
  return page(heading + ", cue sheet", css, body);
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
      if (it.kind == ItemKind::piece && cues.empty() && s > 0) continue;
      std::string line = fmt::format("  {:<10} ", section.label);
      if (first || !cues.empty()) {
        std::string what;
        if (first) {
          for (const KnobGroup& g : groups(organ, section.drawn)) {
            for (const Knob k : g.knobs) what += (what.empty() ? "" : ", ") + name_of(organ, k, true);
          }
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
      if (!section.wish.empty()) line += fmt::format("  ({})", section.wish);
      out += line + "\n";
    }
  }
  return out;
}

}  // namespace calcant
