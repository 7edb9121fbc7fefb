#include "files/pages/cue_sheet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

#include "files/pages/abbreviations.hpp"
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
.back h2 { font-size: 16pt; font-weight: 600; margin: 4mm 0 .8mm; }
.back h3 { font-size: 14pt; font-weight: 700; margin-top: 1.8mm; }
.back p { margin-top: .6mm; }
.back .source { font-style: italic; }
)";

// Knobs of one division (or the couplers), in jamb order, some of them new.
struct Group {
  std::string label;
  std::vector<Knob> knobs;
};

// Left jamb before right, from the bottom upward; where places are not known, as printed.
std::vector<Group> groups(const Organ& organ, const Registration& r) {
  std::vector<Group> out;
  for (std::size_t d = 0; d < organ.divisions.size(); ++d) out.push_back({organ.divisions[d].name, {}});
  out.push_back({"Couplers", {}});
  for (const Knob k : knobs(organ, r)) {
    const auto i = static_cast<std::size_t>(k.index);
    if (k.kind == Knob::Kind::stop) {
      out[static_cast<std::size_t>(organ.stops[i].division)].knobs.push_back(k);
    } else if (k.kind == Knob::Kind::accessory && organ.accessories[i].division) {
      out[static_cast<std::size_t>(*organ.accessories[i].division)].knobs.push_back(k);
    } else {
      out.back().knobs.push_back(k);
    }
  }
  for (Group& g : out) {
    const bool known =
        std::all_of(g.knobs.begin(), g.knobs.end(), [&](Knob k) { return place(organ, k).jamb != Jamb::unknown; });
    if (!known) continue;
    std::stable_sort(g.knobs.begin(), g.knobs.end(), [&](Knob a, Knob b) {
      const KnobPlace x = place(organ, a);
      const KnobPlace y = place(organ, b);
      return std::tuple(x.jamb, x.column, x.row) < std::tuple(y.jamb, y.column, y.row);
    });
  }
  return out;
}

std::string hand(const Organ& organ, Knob k) {
  switch (place(organ, k).jamb) {
    case Jamb::left: return " (L)";
    case Jamb::right: return " (R)";
    case Jamb::over_manual: return " (over manual)";
    case Jamb::unknown: break;
  }
  return "";
}

std::string name_of(const Organ& organ, Knob k, bool brief) {
  return brief ? short_name(organ, k) : full_name(organ, k);
}

std::string box_words(float opening) {
  if (opening <= 0.01F) return "shut";
  if (opening >= 0.99F) return "open";
  return opening < 0.5F ? "a little open" : "half open";
}

std::string keyboard_words(const Organ& organ, const OnKeyboards& on, bool brief) {
  const auto name = [&](std::optional<KeyboardIndex> k) {
    const std::string& n = organ.keyboards[static_cast<std::size_t>(*k)].name;
    return brief ? short_division(n) : n;
  };
  std::string s;
  if (on.right && on.left && on.right == on.left) s = fmt::format("hands on {}", name(on.right));
  else if (on.right && on.left) s = fmt::format("right hand {}, left hand {}", name(on.right), name(on.left));
  else if (on.right) s = fmt::format("right hand {}", name(on.right));
  else if (on.left) s = fmt::format("left hand {}", name(on.left));
  if (!s.empty() && !on.feet) s += ", no pedal";
  return s;
}

const Cue* cue_to(const Plan& plan, std::size_t item, std::size_t section) {
  for (const Cue& c : plan.cues) {
    if (c.item == static_cast<int>(item) && c.section == static_cast<int>(section)) return &c;
  }
  return nullptr;
}

bool is_new(const Cue* cue, Knob k) {
  return cue != nullptr && std::find(cue->draw.begin(), cue->draw.end(), k) != cue->draw.end();
}

// "+ Fifteenth 2 (R)   off: Sw to Gt (L)   box open (foot)"
std::vector<std::string> change_words(const Organ& organ, const Cue& c, bool brief) {
  std::vector<std::string> words;
  for (const Knob k : c.draw) words.push_back(fmt::format("+ {}{}", name_of(organ, k, brief), hand(organ, k)));
  std::string off;
  for (const Knob k : c.put_in)
    off += fmt::format("{}{}{}", off.empty() ? "off: " : ", ", name_of(organ, k, brief), hand(organ, k));
  if (!off.empty()) words.push_back(off);
  for (const BoxSetting b : c.boxes) {
    words.push_back(fmt::format("{} {}",
                                organ.boxes.size() > 1 ? organ.boxes[static_cast<std::size_t>(b.box)].name : "box",
                                box_words(b.opening)));
  }
  if (c.go_to) words.push_back(fmt::format("\u2192 {}", keyboard_words(organ, *c.go_to, brief)));
  return words;
}

std::string when_words(const Item& item, const Cue& c) {
  if (!c.window) return "before";
  if (item.kind == ItemKind::psalm) return c.moment.verse > 0 ? fmt::format("after v{}", c.moment.verse) : "before";
  if (item.kind == ItemKind::hymn) {
    return c.moment.verse > 0 ? fmt::format("at v{}\u2019s last chord", c.moment.verse) : "before";
  }
  std::string at = words(c.moment);
  return c.mover == Mover::nobody || c.mover == Mover::foot ? at : "from " + at;
}

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
    if (over)
      out += fmt::format("<p class=\"over\">Play-over: {}.</p>\n",
                         escaped(fmt::format(
                             "{}", fmt::join(it.play_over.begin(),
                                             it.play_over.end() - (brief_ && it.play_over.size() > 1 ? 1 : 0), ", "))));
    for (std::size_t s = over ? 1 : 0; s < it.sections.size(); ++s) {
      // What is drawn for the play-over is verse 1's state: its cue belongs to the first step that is printed.
      const Cue* c = cue_to(plan_, i, s);
      if (c == nullptr && over && s == 1) c = cue_to(plan_, i, 0);
      // In a piece a dynamic that moves nothing needs no line.
      if (it.kind == ItemKind::piece && c == nullptr && s > 0) continue;
      // Verses that go on as they are, and want nothing said of them, share one line.
      std::size_t last = s;
      while (last + 1 < it.sections.size() && cue_to(plan_, i, last + 1) == nullptr &&
             alike(it.sections[s], it.sections[last + 1]))
        ++last;
      out += step(it, it.sections[s], last > s ? &it.sections[last] : nullptr, c, i == 0 && s == (over ? 1U : 0U));
      s = last;
    }
    return out + "</section>\n";
  }

  static bool alike(const Section& a, const Section& b) {
    return a.label.starts_with("Verse ") && b.label.starts_with("Verse ") && a.kind == b.kind && a.wish == b.wish;
  }

  std::string step(const Item& it, const Section& section, const Section* to, const Cue* c, bool first) {
    std::string label = section.label;
    bool bars = true;
    if (label.starts_with("Verse ")) {
      label = "v" + label.substr(6);
      if (to != nullptr) label += "\u2013" + to->label.substr(6);
      bars = label.size() > 6;
    } else if (it.kind == ItemKind::piece && label.starts_with("Bar ")) {
      label = "b" + label.substr(3, label.find(',') - 3);
    } else if (label == "Throughout") {
      label.clear();
    }
    std::string out =
        fmt::format("<div class=\"step\"><div class=\"which{}\">{}</div><div>", bars ? " bars" : "", escaped(label));
    std::string head;
    if (c != nullptr && !first) {
      for (const std::string& w : change_words(organ_, *c, brief_)) {
        head += fmt::format("{}<span>{}</span>", head.empty() ? "" : " &ensp; ", escaped(w));
      }
      if (!head.empty()) head += fmt::format(" <span class=\"at\">{}</span>", escaped(when_words(it, *c)));
      if (c->mover == Mover::helper) head += " <span class=\"helper\">helper</span>";
    }
    std::string about;
    if (!section.kind.empty() && section.kind != "harmony") about = section.kind;
    if (!section.wish.empty()) about += (about.empty() ? "" : ", ") + section.wish;
    if (!about.empty())
      head += fmt::format("{}<span class=\"at\">{}</span>", head.empty() ? "" : " &ensp; ", escaped(about));
    if (c == nullptr && !first && !section.kind.starts_with("unacc")) {
      head = "<span class=\"at\">as before</span>" + std::string(head.empty() ? "" : " &ensp; ") + head;
    }
    if (!head.empty()) out += fmt::format("<div class=\"change\">{}</div>", head);
    // In a piece, and where room is short, the state is printed where a knob moves: the other manual or the box leave it
    // as it is.
    const bool knobs_move = first || (c != nullptr && (!c->draw.empty() || !c->put_in.empty()));
    if ((it.kind != ItemKind::piece && !brief_) || knobs_move)
      out += "<div class=\"state\">" + state(section, c, first) + "</div>";
    out += "</div></div>\n";
    return out;
  }

  std::string state(const Section& section, const Cue* c, bool first) {
    std::string out;
    for (const Group& g : groups(organ_, section.drawn)) {
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
                            !first && is_new(c, k) ? "<b>" + name + "</b>" : name, parting);
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

// Lines of 14 point the front takes, counted generously: about 78 letters a line, the label's column left out.
double lines_taken(const Organ& organ, const Plan& plan, bool brief) {
  double lines = 0;
  for (std::size_t i = 0; i < plan.items.size(); ++i) {
    const Item& it = plan.items[i];
    lines += 1.5 + (it.play_over.empty() ? 0 : 1);
    const bool over = !it.play_over.empty() && it.sections.size() > 1;
    for (std::size_t s = over ? 1 : 0; s < it.sections.size(); ++s) {
      const Cue* c = cue_to(plan, i, s);
      if (c == nullptr && s > (over ? 1U : 0U) &&
          (it.kind == ItemKind::piece || it.sections[s].wish == it.sections[s - 1].wish))
        continue;
      const bool moved = c != nullptr && (!c->draw.empty() || !c->put_in.empty());
      if ((it.kind == ItemKind::piece || brief) && !moved && (s > 0 || i > 0)) {
        lines += 1.1;
        continue;
      }
      std::size_t letters = 24;
      for (const Knob k : knobs(organ, it.sections[s].drawn))
        letters += name_of(organ, k, brief).size() + (brief ? 2 : 3);
      lines += std::ceil(static_cast<double>(letters) / 74) + (brief ? 0.1 : 0.3);
      if (i > 0 || s > (over ? 1U : 0U)) lines += 1;
    }
  }
  return lines;
}

constexpr double lines_on_a_side = 38;

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
  if (lines_taken(organ, plan, false) <= lines_on_a_side) return Density::full;
  if (lines_taken(organ, plan, true) <= lines_on_a_side) return Density::abbreviated;
  return Density::overflowing;
}

std::string cue_sheet_html(const Organ& organ, const Plan& plan, const CueSheet& sheet) {
  const bool brief = density(organ, plan) != Density::full;
  const std::string heading = !sheet.heading.empty()   ? sheet.heading
                              : plan.items.size() == 1 ? plan.items.front().title
                                                       : organ.name;
  const auto header = [&](const std::string& title) {
    std::string organ_line = escaped(organ.name);
    if (organ.invented) organ_line += "<br><span class=\"invented\">Invented organ</span>";
    return fmt::format("<header><h1>{}</h1><div class=\"organ\">{}</div></header>\n", escaped(title), organ_line);
  };
  std::string foot = sheet.date.empty() ? "No date given" : escaped(sheet.date);
  foot += ". ";
  foot += sheet.faults.empty() ? "No faults are known. "
                               : "Allowed for: " + escaped(fmt::format("{}", fmt::join(sheet.faults, "; "))) + ". ";
  std::string heard = sheet.heard.empty() ? "not yet heard here" : sheet.heard;
  heard[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(heard[0])));
  foot += escaped(heard) + ".";

  std::string body = fmt::format("<main class=\"side front{}\">\n", brief ? " tight" : "");
  body += header(heading);
  body += Sheet(organ, plan, brief).items();
  body += fmt::format("<footer>{}</footer>\n</main>\n", foot);
  body += "<section class=\"side back\">\n" + header("Why it is so") + back(organ, plan, sheet) + "</section>\n";
  return page(heading + ", cue sheet", css, body);
}

std::string cue_sheet_text(const Organ& organ, const Plan& plan) {
  std::string out;
  for (std::size_t i = 0; i < plan.items.size(); ++i) {
    const Item& it = plan.items[i];
    out += fmt::format("{}{}{}{}{}\n", it.number, it.number.empty() ? "" : "  ", it.title,
                       it.subtitle.empty() ? "" : ", ", it.subtitle);
    for (std::size_t s = 0; s < it.sections.size(); ++s) {
      const Section& section = it.sections[s];
      const Cue* c = cue_to(plan, i, s);
      const bool first = i == 0 && s == 0;
      if (it.kind == ItemKind::piece && c == nullptr && s > 0) continue;
      std::string line = fmt::format("  {:<10} ", section.label);
      if (first || c != nullptr) {
        std::string what;
        if (first) {
          for (const Group& g : groups(organ, section.drawn)) {
            for (const Knob k : g.knobs) what += (what.empty() ? "" : ", ") + name_of(organ, k, true);
          }
        } else {
          what = fmt::format("{}", fmt::join(change_words(organ, *c, true), "  "));
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
