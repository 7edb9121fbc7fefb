#include "files/pages/sheet_items.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "files/pages/cue_words.hpp"

namespace calcant {
namespace {

using Look = SheetPhrase::Look;

// Letters that fit into the margin; a longer label heads its line, and so do all of its item.
constexpr std::size_t margin_letters = 6;

std::size_t letters(std::string_view text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

bool is_dynamic(std::string_view word) {
  constexpr std::array<std::string_view, 12> marks{"ppp", "pp",  "p",  "mp", "mf",  "f",
                                                   "ff",  "fff", "fp", "sf", "sfz", "fz"};
  return std::find(marks.begin(), marks.end(), word) != marks.end();
}

// Once: words that several verses share are quoted each.
std::string quoted(const std::string& words) {
  return words.find("\u201c") == std::string::npos ? "\u201c" + words + "\u201d" : words;
}

// "v3", "v2\u20133", "v4b", "b 17": short enough for the margin.
std::string margin(const Item& it, const Section& section, const Section* to) {
  std::string label = section.label;
  if (label.starts_with("Verse ")) {
    label = "v" + label.substr(6);
    if (to != nullptr) label += "\u2013" + to->label.substr(6);
    if (const auto at = label.find(", second half"); at != std::string::npos) label = label.substr(0, at) + "b";
    if (const auto at = label.find(", line "); at != std::string::npos)
      label = label.substr(0, at) + " l" + label.substr(at + 7);
  } else if (it.kind == ItemKind::piece && label.starts_with("Bar ")) {
    label = "b" + label.substr(3, label.find(',') - 3);
  } else if (label == "Throughout" || label == "Play-over") {
    label.clear();  // the play-over stands straight under the line that says what is played
  }
  return label;
}

class Sheet {
 public:
  Sheet(const Organ& organ, const Plan& plan, SheetDetail detail)
      : organ_(organ), plan_(plan), brief_(detail != SheetDetail::full), least_(detail == SheetDetail::least) {}

  SheetItem item(std::size_t i) {
    const Item& it = plan_.items[i];
    SheetItem out{it.number, it.title, it.subtitle, {}, {}};
    for (const std::string& note : it.notes) out.notes.push_back(note + ".");
    const bool over = !it.play_over.empty() && it.sections.size() > 1;
    // A play-over with a registration of its own is a step like a verse.
    const bool own_over = over && it.sections[0].drawn != it.sections[1].drawn;
    if (over) {
      std::string text = it.play_over.front();
      if (it.play_over.size() > 1 && (!brief_ || own_over)) text += ", " + it.play_over.back();
      out.notes.push_back(fmt::format("Play-over: {}.", text));
    }
    const std::size_t first = over && !own_over ? 1 : 0;
    bool box_in_copy = false;
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
      if (it.kind == ItemKind::piece && c.empty() && s > 0 && it.sections[s].note.empty()) continue;
      if (least_ && it.kind == ItemKind::piece && s > 0 && only_the_box(it, s, c)) {
        box_in_copy = true;
        continue;
      }
      // Verses that go on as they are, and want nothing said of them, share one line.
      std::size_t last = s;
      const bool run = brief_ && c.empty();  // where room is short, with all their words
      while (last + 1 < it.sections.size() && cues_to(plan_, i, last + 1).empty() &&
             alike(it.sections[s], it.sections[last + 1], run))
        ++last;
      Section shown = it.sections[s];
      if (run && last > s) shown.wish = words_of(it, s, last);
      out.steps.push_back(step(it, shown, last > s ? &it.sections[last] : nullptr, c, hands_before(plan_, i, came),
                               i == 0 && s == first));
      s = last;
    }
    if (box_in_copy) out.notes.emplace_back("The box as in the copy.");
    labels_to_their_lines(out);
    return out;
  }

 private:
  // Whether nothing but the box is moved, and the hands stay where they are.
  static bool only_the_box(const Item& it, std::size_t s, const Cues& cues) {
    return it.sections[s].keyboards == it.sections[s - 1].keyboards && !it.sections[s].fixed &&
           std::all_of(cues.begin(), cues.end(),
                       [](const Cue* c) { return c->draw.empty() && c->put_in.empty() && c->mover == Mover::foot; });
  }

  // Labels too long for the margin head their lines, all of the item alike.
  static void labels_to_their_lines(SheetItem& item) {
    if (std::all_of(item.steps.begin(), item.steps.end(),
                    [](const SheetStep& s) { return letters(s.label) <= margin_letters; }))
      return;
    for (SheetStep& s : item.steps) {
      if (!s.label.empty()) s.change.insert(s.change.begin(), {Look::place, s.label + ":", "", true});
      s.label.clear();
    }
  }

  // "v2 gentle, v4 dark": of verses that share a line.
  static std::string words_of(const Item& it, std::size_t from, std::size_t to) {
    std::string out;
    for (std::size_t s = from; s <= to; ++s) {
      if (!it.sections[s].wish.empty())
        out += fmt::format("{}{} {}", out.empty() ? "" : ", ", margin(it, it.sections[s], nullptr),
                           quoted(it.sections[s].wish));
    }
    return out;
  }

  static bool alike(const Section& a, const Section& b, bool whatever_the_word) {
    const auto whole = [](const Section& s) {
      return s.label.starts_with("Verse ") && s.label.find(',') == std::string::npos;
    };
    return whole(a) && whole(b) && a.kind == b.kind && a.note.empty() && b.note.empty() &&
           (whatever_the_word || a.wish == b.wish);
  }

  SheetStep step(const Item& it, const Section& section, const Section* to, const Cues& cues, const HandsAndFeet& from,
                 bool first) {
    SheetStep out;
    out.label = margin(it, section, to);
    const auto say = [&](Look look, std::string text) { out.change.push_back({look, std::move(text), "", true}); };
    if (cues.empty() && !first && !section.kind.starts_with("unacc")) say(Look::when, "as before");
    bool knobs_move = first;
    for (const Cue* c : cues) {
      if (first) break;
      for (std::string& w : change_words(organ_, *c, from, brief_)) say(Look::change, std::move(w));
      if (std::string when = when_words(it, section, *c); !when.empty()) say(Look::when, std::move(when));
      if (c->mover == Mover::helper) say(Look::helper, "helper");
      knobs_move = knobs_move || !c->draw.empty() || !c->put_in.empty();
    }
    if (!section.kind.empty() && section.kind != "harmony") say(Look::when, section.kind);
    if (is_dynamic(section.wish)) say(Look::dynamic, section.wish);
    else if (!section.wish.empty() && section.wish != section.kind) say(Look::word, quoted(section.wish));
    if (!section.note.empty()) say(Look::word, fmt::format("({})", section.note));
    if (section.fixed) say(Look::when, "fixed");
    // In a piece, and where room is short, the state is printed where a knob moves: the other manual or the box leave it
    // as it is.
    const bool later_in_a_piece = least_ && it.kind == ItemKind::piece && section.label != it.sections.front().label;
    if (later_in_a_piece) return out;
    if ((it.kind != ItemKind::piece && !brief_) || knobs_move) out.state = state(section, cues, first);
    return out;
  }

  std::vector<SheetPhrase> state(const Section& section, const Cues& cues, bool first) {
    std::vector<SheetPhrase> out;
    for (const KnobGroup& g : groups(organ_, section.drawn)) {
      for (const Knob k : g.knobs) {
        const bool last = k == g.knobs.back();
        SheetPhrase p;
        p.look = !first && is_new(cues, k) ? Look::fresh : Look::plain;
        p.text = name_of(organ_, k, brief_) + (last ? "" : ",");
        p.ends_group = last;
        if (k == g.knobs.front() && g.label != "Couplers") p.lead = brief_ ? short_division(g.label) : g.label;
        out.push_back(std::move(p));
      }
    }
    for (const std::string& box : boxes_words(organ_, section.drawn)) out.push_back({Look::when, box + ";", "", false});
    std::string where = keyboard_words(organ_, section.keyboards, brief_);
    if (!where.empty()) {
      out.push_back({Look::when, std::move(where), "", true});
    } else if (!out.empty() && out.back().text.ends_with(';')) {
      out.back().text.pop_back();
      out.back().ends_group = true;
    }
    return out;
  }

  const Organ& organ_;
  const Plan& plan_;
  bool brief_;
  bool least_;
};

}  // namespace

std::vector<SheetItem> sheet_items(const Organ& organ, const Plan& plan, SheetDetail detail) {
  Sheet sheet(organ, plan, detail);
  std::vector<SheetItem> out;
  for (std::size_t i = 0; i < plan.items.size(); ++i) out.push_back(sheet.item(i));
  return out;
}

}  // namespace calcant
