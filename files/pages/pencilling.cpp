#include "files/pages/pencilling.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "files/pages/abbreviations.hpp"
#include "files/pages/cue_words.hpp"
#include "files/pages/html.hpp"

namespace calcant {
namespace {

constexpr std::string_view css = R"(
header { border-bottom: 1.2pt solid #000; padding-bottom: 1.5mm; margin-bottom: 3mm; }
h1 { font-size: 19pt; font-weight: 600; }
section { break-inside: avoid; }
section.long { break-inside: auto; }
h2 { font-size: 15pt; font-weight: 600; margin: 4mm 0 1mm; break-after: avoid; }
p.start { margin: 0 0 1mm; break-after: avoid; }
table { border-collapse: collapse; width: 100%; table-layout: fixed; font-size: 13pt; }
td { padding: 1.2mm 3mm 1.2mm 0; border-bottom: .4pt solid #999; vertical-align: top; }
td.place { width: 38%; }
td.who { width: 14%; }
td.what, p.start b { font-weight: 600; }
td .ready { display: block; font-size: 12pt; font-style: italic; }
.one { white-space: nowrap; padding-right: .7em; }
.of { padding-right: .7em; }
tr { break-inside: avoid; }
)";

// Lists longer than this are broken over two sides rather than moved to the next.
constexpr std::size_t long_list = 12;

// One thing to pencil from the next: each is kept in one piece on paper.
constexpr std::string_view between_things = "  ";

std::string in_one_piece(std::string_view things) {
  std::string out;
  while (!things.empty()) {
    const auto end = std::min(things.find(between_things), things.size());
    out += fmt::format("{}<span class=\"one\">{}</span>", out.empty() ? "" : " ", escaped(things.substr(0, end)));
    things.remove_prefix(std::min(end + between_things.size(), things.size()));
  }
  return out;
}

void add(std::string& text, std::string_view more, std::string_view between) {
  if (!text.empty()) text += between;
  text += more;
}

std::string box_word(const Organ& organ, BoxIndex box, float opening) {
  return fmt::format("{} {}", box_name(organ, box),
                     opening <= 0.01F   ? "shut"
                     : opening >= 0.99F ? "open"
                     : opening < 0.5F   ? "a little open"
                                        : "half");
}

std::string board_word(const Organ& organ, KeyboardIndex k) {
  return short_division(organ.keyboards[static_cast<std::size_t>(k)].name);
}

std::string hand_of(const Cue& cue) {
  const bool knobs = !cue.draw.empty() || !cue.put_in.empty();
  if (!knobs) return cue.boxes.empty() ? "" : "foot";
  switch (cue.mover) {
    case Mover::left_hand: return "L";
    case Mover::right_hand: return "R";
    case Mover::both_hands: return "both hands";
    case Mover::foot: return "foot";
    case Mover::helper: return "helper";
    case Mover::nobody: break;
  }
  return "";
}

// Page and system of each bar, counted as the score encodes them; 0 where it encodes none.
struct Layout {
  std::vector<int> page;
  std::vector<int> system;
};
Layout layout_of(const Score& score) {
  Layout out;
  const bool pages = std::any_of(score.bars.begin(), score.bars.end(), [](const Bar& b) { return b.new_page; });
  const bool systems =
      pages || std::any_of(score.bars.begin(), score.bars.end(), [](const Bar& b) { return b.new_system; });
  int page = 1;
  int system = 1;
  for (std::size_t b = 0; b < score.bars.size(); ++b) {
    if (b > 0 && score.bars[b].new_page) {
      ++page;
      system = 1;
    } else if (b > 0 && score.bars[b].new_system) {
      ++system;
    }
    out.page.push_back(pages ? page : 0);
    out.system.push_back(systems ? system : 0);
  }
  return out;
}

std::string place_in(const Score& score, const Layout& layout, const Moment& m) {
  std::string out;
  const auto bar = static_cast<std::size_t>(m.bar_index);
  if (bar < layout.page.size()) {
    if (layout.page[bar] > 0) out += fmt::format("p. {}, ", layout.page[bar]);
    if (layout.system[bar] > 0) out += fmt::format("system {}, ", layout.system[bar]);
  }
  Moment plain = m;
  plain.line = 0;
  return out + words(score, plain);
}

PencilLine line_of(const Organ& organ, const Item& item, const Cue& cue, const Score* score, const Layout& layout) {
  PencilLine out;
  out.what = pencilled(organ, cue);
  out.hand = hand_of(cue);
  const Section& to = item.sections[static_cast<std::size_t>(cue.section)];
  if (score != nullptr && item.kind == ItemKind::piece) {
    out.place = place_in(*score, layout, cue.moment);
    const std::string ready = place_in(*score, layout, to.from);
    if (ready != out.place) out.ready = ready;
  } else if (item.kind == ItemKind::piece) {
    out.place = to.label;
  } else {
    out.place = "before " + to.label;
  }
  return out;
}

}  // namespace

std::string pencilled(const Organ& organ, const HandsAndFeet& on) {
  if (on.right && on.right == on.left) return "on " + board_word(organ, *on.right);
  std::string out;
  if (on.right) add(out, "RH " + board_word(organ, *on.right), between_things);
  if (on.left) add(out, "LH " + board_word(organ, *on.left), between_things);
  return out;
}

std::string pencilled(const Organ& organ, const Cue& cue) {
  std::string out;
  for (const Knob k : cue.draw) add(out, "+ " + plain_name(organ, k, true), between_things);
  for (const Knob k : cue.put_in) add(out, "off " + plain_name(organ, k, true), between_things);
  if (const std::string pedal = pressed_words(organ, cue); !pedal.empty() && !out.empty())
    add(out, "by " + pedal, between_things);
  for (const BoxSetting b : cue.boxes) {
    add(out, cue.gradual ? gradual_words(box_name(organ, b.box), b.opening) : box_word(organ, b.box, b.opening),
        between_things);
  }
  if (!cue.go_to) return out;
  if (const std::string boards = pencilled(organ, *cue.go_to); !boards.empty()) add(out, boards, between_things);
  return out;
}

std::vector<std::string> pencilled(const Organ& organ, const Registration& drawn) {
  std::vector<std::string> out;
  std::string division;
  std::string couplers;
  for (const Knob k : knobs(organ, drawn)) {
    const std::string name = short_name(organ, k);
    if (k.kind != Knob::Kind::stop) {
      add(couplers, name, ", ");
      continue;
    }
    const auto d = static_cast<std::size_t>(organ.stops[static_cast<std::size_t>(k.index)].division);
    const std::string of = short_division(organ.divisions[d].name);
    if (of != division) out.push_back(of + " " + name);
    else out.back() += ", " + name;
    division = of;
  }
  for (std::size_t b = 0; b < organ.boxes.size(); ++b)
    add(couplers, box_word(organ, static_cast<BoxIndex>(b), drawn.box[b]), ", ");
  if (!couplers.empty()) out.push_back(couplers);
  return out;
}

std::vector<Pencilling> pencilling(const Organ& organ, const Plan& plan, const std::vector<const Score*>& scores) {
  std::vector<Pencilling> out;
  for (std::size_t i = 0; i < plan.items.size(); ++i) {
    const Item& item = plan.items[i];
    const Score* score = i < scores.size() ? scores[i] : nullptr;
    const Layout layout = score != nullptr ? layout_of(*score) : Layout{};
    const Section& first = item.sections.front();
    Pencilling list{item.number, item.title, pencilled(organ, first.drawn), {}};
    if (const std::string boards = pencilled(organ, first.keyboards); !boards.empty()) list.start.push_back(boards);
    for (const Cue& c : plan.cues) {
      if (c.item != static_cast<int>(i) || c.section == 0) continue;
      list.lines.push_back(line_of(organ, item, c, score, layout));
    }
    out.push_back(std::move(list));
  }
  return out;
}

std::string pencilling_text(const std::vector<Pencilling>& lists) {
  std::string out;
  for (const Pencilling& list : lists) {
    out += fmt::format("{}{}{}\n  at the head: {}\n", out.empty() ? "" : "\n",
                       list.number.empty() ? "" : list.number + "  ", list.title, fmt::join(list.start, "; "));
    std::size_t width = 0;
    for (const PencilLine& l : list.lines) width = std::max(width, l.place.size());
    for (const PencilLine& l : list.lines) {
      out +=
          fmt::format("  {:<{}}  {}{}{}\n", l.place, width, l.what, l.hand.empty() ? "" : fmt::format("  ({})", l.hand),
                      l.ready.empty() ? "" : fmt::format("  for {}", l.ready));
    }
    if (list.lines.empty()) out += "  nothing is changed\n";
  }
  return out;
}

std::string pencilling_html(const Organ& organ, const std::vector<Pencilling>& lists) {
  std::string body = fmt::format("<header><h1>To be pencilled</h1><p>{}{}</p></header>\n", escaped(organ.name),
                                 organ.invented ? " (an invented organ)" : "");
  for (const Pencilling& list : lists) {
    std::string start;
    for (const std::string& s : list.start)
      add(start, fmt::format("<span class=\"of\">{}</span>", escaped(tied(s))), " ");
    body += fmt::format("<section{}>\n<h2>{}{}</h2>\n<p class=\"start\">At the head: <b>{}</b></p>\n",
                        list.lines.size() > long_list ? " class=\"long\"" : "",
                        list.number.empty() ? "" : escaped(list.number) + "&ensp;", escaped(list.title), start);
    if (list.lines.empty()) {
      body += "<p>Nothing is changed.</p>\n</section>\n";
      continue;
    }
    body += "<table>\n";
    for (const PencilLine& l : list.lines) {
      const std::string ready =
          l.ready.empty() ? "" : fmt::format("<span class=\"ready\">for {}</span>", escaped(l.ready));
      body += fmt::format("<tr><td class=\"place\">{}{}</td><td class=\"what\">{}</td><td class=\"who\">{}</td></tr>\n",
                          escaped(l.place), ready, in_one_piece(l.what), escaped(l.hand));
    }
    body += "</table>\n</section>\n";
  }
  return page("To be pencilled", css, body);
}

}  // namespace calcant
