#include "files/pages/cue_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

namespace calcant {
namespace {

std::string hand(const Organ& organ, Knob k) {
  switch (place(organ, k).jamb) {
    case Jamb::left: return " (L)";
    case Jamb::right: return " (R)";
    case Jamb::over_manual: return " (over manual)";
    case Jamb::unknown: break;
  }
  return "";
}

// One phrase for each hand: "+ Principal 4, Fifteenth 2 (R)".
void by_hand(const Organ& organ, const std::vector<Knob>& moved, const std::string& pressed, std::string_view what,
             bool brief, std::vector<std::string>& words) {
  std::vector<std::pair<std::string, std::string>> hands;
  for (const Knob k : moved) {
    const std::string h = pressed.empty() ? hand(organ, k) : fmt::format(" ({})", pressed);
    auto at = std::find_if(hands.begin(), hands.end(), [&](const auto& x) { return x.first == h; });
    if (at == hands.end()) at = hands.insert(hands.end(), {h, std::string(what)});
    else at->second += ", ";
    at->second += plain_name(organ, k, brief);
  }
  for (const auto& [h, text] : hands) words.push_back(text + h);
}

// Where the hands and feet go, said as a change: "hands on Gt", "no pedal", "with pedal".
std::string going(const Organ& organ, const HandsAndFeet& from, const HandsAndFeet& to, bool brief) {
  if (from.right != to.right || from.left != to.left) {
    // That the feet rest is no news where they have rested before.
    HandsAndFeet told = to;
    if (!from.feet && !to.feet) told.feet = to.right;
    return fmt::format("\u2192 {}", keyboard_words(organ, told, brief));
  }
  return to.feet ? "with pedal" : "no pedal";
}

}  // namespace

std::vector<KnobGroup> groups(const Organ& organ, const Registration& r) {
  std::vector<KnobGroup> out;
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
  for (KnobGroup& g : out) {
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

std::string name_of(const Organ& organ, Knob k, bool brief) {
  return brief ? short_name(organ, k) : full_name(organ, k);
}

std::string plain_name(const Organ& organ, Knob k, bool brief) {
  const std::string name = name_of(organ, k, brief);
  if (k.kind != Knob::Kind::stop) return name;
  bool another = false;
  for (std::size_t s = 0; s < organ.stops.size(); ++s)
    another = another || (static_cast<int>(s) != k.index &&
                          name_of(organ, {Knob::Kind::stop, static_cast<int>(s)}, brief) == name);
  if (!another) return name;
  const auto division = static_cast<std::size_t>(organ.stops[static_cast<std::size_t>(k.index)].division);
  const std::string& of = organ.divisions[division].name;
  return fmt::format("{} {}", brief ? short_division(of) : of, name);
}

std::string pressed_words(const Organ& organ, const Cue& c) {
  if (c.pressed) return organ.accessories[static_cast<std::size_t>(*c.pressed)].name;
  // A foot moves knobs by a composition pedal and no other way.
  return c.mover == Mover::foot ? "composition pedal" : "";
}

std::string box_name(const Organ& organ, BoxIndex box) {
  return organ.boxes.size() > 1 ? organ.boxes[static_cast<std::size_t>(box)].name : "box";
}

std::string box_words(float opening) {
  if (opening <= 0.01F) return "shut";
  if (opening >= 0.99F) return "open";
  return opening < 0.5F ? "a little open" : "half open";
}

std::vector<std::string> boxes_words(const Organ& organ, const Registration& r) {
  std::vector<std::string> out;
  for (std::size_t b = 0; b < organ.boxes.size(); ++b) {
    const bool used = std::any_of(organ.stops.begin(), organ.stops.end(), [&](const Stop& s) {
      return organ.divisions[static_cast<std::size_t>(s.division)].box == static_cast<BoxIndex>(b) &&
             r.stops[static_cast<std::size_t>(&s - organ.stops.data())];
    });
    if (used) out.push_back(fmt::format("{} {}", box_name(organ, static_cast<BoxIndex>(b)), box_words(r.box[b])));
  }
  return out;
}

std::string gradual_words(std::string_view box, float opening) {
  const std::string to = box_words(opening);
  return to == "open" || to == "shut" ? fmt::format("{} {} gradually", to, box)
                                      : fmt::format("{} gradually to {}", box, to);
}

std::string keyboard_words(const Organ& organ, const HandsAndFeet& on, bool brief) {
  const auto name = [&](std::optional<KeyboardIndex> k) {
    const std::string& n = organ.keyboards[static_cast<std::size_t>(*k)].name;
    return brief ? short_division(n) : n;
  };
  std::string s;
  if (on.right && on.left && on.right == on.left) s = fmt::format("{} {}", brief ? "on" : "hands on", name(on.right));
  else if (on.right && on.left)
    s = fmt::format("{} {}, {} {}", brief ? "RH" : "right hand", name(on.right), brief ? "LH" : "left hand",
                    name(on.left));
  else if (on.right) s = fmt::format("right hand {}", name(on.right));
  else if (on.left) s = fmt::format("left hand {}", name(on.left));
  if (!s.empty() && !on.feet) s += ", no pedal";
  return s;
}

Cues cues_to(const Plan& plan, std::size_t item, std::size_t section) {
  Cues out;
  for (const Cue& c : plan.cues) {
    if (c.item == static_cast<int>(item) && c.section == static_cast<int>(section)) out.push_back(&c);
  }
  return out;
}

bool is_new(const Cues& cues, Knob k) {
  return std::any_of(cues.begin(), cues.end(),
                     [&](const Cue* c) { return std::find(c->draw.begin(), c->draw.end(), k) != c->draw.end(); });
}

HandsAndFeet hands_before(const Plan& plan, std::size_t item, std::size_t section) {
  if (section > 0) {
    // A verse sung alone moves nobody.
    for (std::size_t s = section; s-- > 0;) {
      const HandsAndFeet& on = plan.items[item].sections[s].keyboards;
      if (on.right || on.left) return on;
    }
  }
  return item > 0 ? plan.items[item - 1].sections.back().keyboards : plan.initial_keyboards;
}

std::vector<std::string> change_words(const Organ& organ, const Cue& c, const HandsAndFeet& from, bool brief) {
  std::vector<std::string> words;
  const std::string pressed = pressed_words(organ, c);
  by_hand(organ, c.draw, pressed, "+ ", brief, words);
  by_hand(organ, c.put_in, pressed, "off: ", brief, words);
  for (const BoxSetting b : c.boxes) {
    const std::string box = box_name(organ, b.box);
    words.push_back(c.gradual ? gradual_words(box, b.opening) : fmt::format("{} {}", box, box_words(b.opening)));
  }
  if (c.go_to) words.push_back(going(organ, from, *c.go_to, brief));
  return words;
}

std::string when_words(const Item& item, const Section& to, const Cue& c) {
  // Between two items there is time, and a change without a window stands where its section begins.
  if (!c.window) return "";
  switch (item.kind) {
    case ItemKind::hymn:
      if (c.moment.verse == 0) return "after the play-over";
      if (c.moment.verse == to.from.verse) return fmt::format("after line {}", c.moment.line);
      return fmt::format("at v{}\u2019s last chord", c.moment.verse);
    case ItemKind::psalm:
      // Reciting has no chord to name: the change is made as the verse or its half ends.
      if (c.moment.verse == 0) return "after the play-over";
      return c.moment.verse == to.from.verse ? "at the half verse" : "";
    case ItemKind::piece: break;
  }
  if (c.moment.verse > 0) return "in the rest before";  // a paper copy: only the user's rests are known
  // Not where it is planned for, but beforehand or afterwards, while it cannot be heard.
  Moment m = c.moment;
  m.at = Rational{static_cast<std::int64_t>(std::floor(m.at.to_double() * 2)), 2};
  return m == to.from ? "" : "from " + words(m);
}

}  // namespace calcant
