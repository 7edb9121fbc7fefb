#include "files/specification/printed_line.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <utility>

#include "engine/quantity/typed.hpp"
#include "files/specification/printed_text.hpp"
#include "files/specification/trade.hpp"

namespace calcant::printed {
namespace {

bool letter(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (static_cast<unsigned char>(c) & 0x80) != 0;
}

// Lengths that stops are named by; any other number in a line is something else.
bool usual_length(Feet f) {
  static const std::vector<Feet> usual = [] {
    std::vector<Feet> v;
    for (const auto& [num, den] : std::initializer_list<std::pair<int, int>>{{32, 1},
                                                                             {16, 1},
                                                                             {8, 1},
                                                                             {4, 1},
                                                                             {2, 1},
                                                                             {1, 1},
                                                                             {1, 2},
                                                                             {64, 3},
                                                                             {32, 3},
                                                                             {16, 3},
                                                                             {8, 3},
                                                                             {4, 3},
                                                                             {2, 3},
                                                                             {32, 5},
                                                                             {16, 5},
                                                                             {8, 5},
                                                                             {4, 5},
                                                                             {16, 7},
                                                                             {8, 7}}) {
      v.emplace_back(Rational{num, den});
    }
    return v;
  }();
  return std::find(usual.begin(), usual.end(), f) != usual.end();
}

// "15.19.22", "12:17", "19-22": rising intervals of a mixture.
bool intervals(std::string_view s) {
  int numbers = 0, last = 0;
  for (std::size_t at = 0; at < s.size();) {
    std::size_t end = at;
    while (end < s.size() && digit(s[end])) ++end;
    const auto n = whole(s.substr(at, end - at));
    if (!n || *n <= last || *n > 40) return false;
    last = *n;
    ++numbers;
    if (end == s.size()) return numbers >= 2 && last >= 12;
    if (s[end] != '.' && s[end] != '-' && s[end] != ':') return false;
    at = end + 1;
  }
  return false;
}

// What stands in round or square brackets, taken out of the text.
std::vector<std::string> take_brackets(std::string& text) {
  std::vector<std::string> out;
  std::string rest;
  for (std::size_t at = 0; at < text.size();) {
    const char close = text[at] == '(' ? ')' : text[at] == '[' ? ']' : '\0';
    const std::size_t end = close == '\0' ? std::string::npos : text.find(close, at);
    if (end == std::string::npos) {
      rest += text[at++];
      continue;
    }
    out.push_back(text.substr(at + 1, end - at - 1));
    rest += ' ';
    at = end + 1;
  }
  text = std::move(rest);
  return out;
}

std::string joined(const std::vector<std::string>& list, std::string_view between = " ") {
  std::string out;
  for (const std::string& s : list) {
    if (!out.empty()) out += between;
    out += s;
  }
  return out;
}

// What follows one of the phrases, up to a comma; empty where none is there.
std::string after(const std::string& text, std::initializer_list<std::string_view> phrases) {
  const std::string low = lower(text);
  for (const std::string_view p : phrases) {
    const std::size_t at = low.find(p);
    if (at == std::string::npos) continue;
    std::string rest = text.substr(at + p.size());
    rest.resize(std::min(rest.find_first_of(",;"), rest.size()));
    return joined(words(rest));
  }
  return {};
}

bool says_tenor_c(const std::string& low) {
  const std::string f = " " + trade::folded(low) + " ";
  return f.find(" tenor c ") != std::string::npos || f.find(" ten c ") != std::string::npos ||
         f.find(" tc ") != std::string::npos || f.find(" t c ") != std::string::npos;
}

// "wood" as organ.toml writes it; empty for what is no material.
std::string material(std::string_view low) {
  if (is_one_of(low, {"wood", "oak", "pine", "mahogany"})) return "wood";
  if (is_one_of(low, {"tin", "zinc", "metal"})) return std::string{low};
  return {};
}

void read_remark(const std::string& remark, DraftStop& s) {
  const std::string low = lower(remark);
  if (says_tenor_c(low)) s.from = Note{48};
  if (low.find("prepared") != std::string::npos) s.prepared_for = true;
  std::string lender =
      after(remark, {"bass from ", "bass of ", "grooved into ", "grooved to ", "octave from ", "bass by "});
  if (!lender.empty()) s.bass_from = lender;
  else s.rank_of = after(remark, {"extension of ", "ext. of ", "ext. ", "ext ", "from "});
  if (trade::folded(s.rank_of) == "tenor c" || trade::folded(s.rank_of) == "tc") s.rank_of.clear();
  const auto list = words(remark);
  for (std::size_t i = 0; i < list.size(); ++i) {
    if (intervals(list[i])) s.mixture = list[i];
    if (const std::string m = material(lower(list[i])); !m.empty()) s.material = m;
    const auto n = whole(list[i]);
    const std::string next = i + 1 < list.size() ? lower(list[i + 1]) : "";
    if (n && is_one_of(next, {"pipes", "notes"})) s.pipes = *n;
    if (n && is_one_of(next, {"ranks", "rks", "rks."})) s.mixture_ranks = std::min(*n, 8);
    if (const auto r = roman(list[i]); r && trade::is_mixture(s.name)) s.mixture_ranks = *r;
  }
  if (!s.remark.empty()) s.remark += "; ";
  s.remark += remark;
}

// A length at words[at], over one or two words and a foot mark; how many words it took, 0 for none.
std::size_t length_at(const std::vector<std::string>& list, std::size_t at, Feet& feet) {
  const auto bare = [](std::string_view w) {
    for (const std::string_view unit : {"feet", "foot", "ft.", "ft", "''", "'"}) {
      if (w.size() > unit.size() && lower(w.substr(w.size() - unit.size())) == unit)
        return w.substr(0, w.size() - unit.size());
    }
    return w;
  };
  const std::string_view first = bare(list[at]);
  if (first.empty() || !digit(first.front())) return 0;
  std::size_t took = 0;
  const bool plain = std::all_of(first.begin(), first.end(), digit);
  if (plain && at + 1 < list.size() && first.size() == list[at].size()) {
    const std::string_view second = bare(list[at + 1]);
    if (second.find('/') != std::string_view::npos) {
      const auto both = parse_feet(std::string{first} + " " + std::string{second});
      if (both && usual_length(*both)) {
        feet = *both;
        took = 2;
      }
    }
  }
  if (took == 0) {
    const auto one = parse_feet(first);
    if (!one || !usual_length(*one)) return 0;
    feet = *one;
    took = 1;
  }
  if (at + took < list.size() && is_one_of(lower(list[at + took]), {"ft", "ft.", "feet", "foot", "'"})) ++took;
  return took;
}

bool bullet(std::string_view w) {
  if (is_one_of(w, {"*", "-", "•", "·", "+", "o", "†"})) return true;
  if (w.size() < 2 || w.size() > 4 || !digit(w.front())) return false;
  return (w.back() == '.' || w.back() == ')') && std::all_of(w.begin(), w.end() - 1, digit);
}

}  // namespace

std::string division_word(std::string_view word) {
  const std::string f = trade::folded(word);
  if (is_one_of(f, {"great", "gt", "grt"})) return "great";
  if (is_one_of(f, {"swell", "sw", "swl"})) return "swell";
  if (is_one_of(f, {"choir", "ch", "chr"})) return "choir";
  if (is_one_of(f, {"solo", "so"})) return "solo";
  if (is_one_of(f, {"echo"})) return "echo";
  if (is_one_of(f, {"positive", "positif", "pos"})) return "positive";
  if (is_one_of(f, {"pedal", "pedals", "ped", "pd"})) return "pedal";
  if (is_one_of(f, {"manual", "manuals", "man"})) return "manual";
  return {};
}

std::optional<int> compass(std::string_view text, bool pedal) {
  const auto list = words(text);
  for (std::size_t i = 0; i + 1 < list.size(); ++i) {
    const auto n = whole(list[i]);
    const std::string next = trade::folded(list[i + 1]);
    if (n && is_one_of(next, {"notes", "note", "keys", "pipes"}) && *n >= 12 && *n <= 73) return n;
  }
  // "CC to G", "CC-g3": from the bottom C up to the last letter.
  std::string spaced;
  for (const char c : text)
    spaced += c == '-' || c == ',' || c == '.' || c == ':' ? std::string{" "} + c + " " : std::string{c};
  const auto parts = words(spaced);
  for (std::size_t i = 1; i + 1 < parts.size(); ++i) {
    if (parts[i] != "to" && parts[i] != "-") continue;
    const std::string low = lower(parts[i - 1]);
    const std::string high = lower(parts[i + 1]);
    const bool from_c = low.size() <= 3 && low.find_first_not_of('c') == std::string::npos;
    const bool note = !high.empty() && high.size() <= 4 && std::all_of(high.begin() + 1, high.end(), [&](char c) {
      return digit(c) || c == '\'' || c == high.front();
    });
    if (!from_c || !note) continue;
    switch (high.front()) {
      case 'd':
        if (pedal) return 27;
        break;
      case 'e':
        if (pedal) return 29;
        break;
      case 'f': return pedal ? 30 : 54;
      case 'g': return pedal ? 32 : 56;
      case 'a':
        if (!pedal) return 58;
        break;
      case 'c':
        if (!pedal) return 61;
        break;
      default: break;
    }
  }
  return std::nullopt;
}

std::optional<DraftDivision> heading(std::string_view text) {
  if (text.size() > 120) return std::nullopt;
  std::string rest{text};
  const auto brackets = take_brackets(rest);
  auto list = words(trade::folded(rest));
  if (list.empty()) return std::nullopt;
  // G R E A T
  if (list.size() >= 4 && std::all_of(list.begin(), list.end(), [](const std::string& w) { return w.size() == 1; })) {
    std::string one = joined(list, "");
    if (const std::size_t organ = one.rfind("organ"); organ != std::string::npos && organ > 0) one.resize(organ);
    list = {one};
  }
  DraftDivision d;
  std::string found;
  for (std::size_t i = 0; i < list.size(); ++i) {
    const std::string& w = list[i];
    const std::string division = division_word(w);
    if (!division.empty() && !found.empty() && (found != "manual" || list[i - 1] == "to")) return std::nullopt;
    if (!division.empty()) {
      found = division;
    } else if (w == "enclosed" || w == "expressive") {
      d.enclosed = true;
    } else if (!is_one_of(
                   w, {"organ", "division", "department", "the", "i",   "ii", "iii", "iv",      "v",  "notes", "note",
                       "keys",  "stops",    "unenclosed", "in",  "box", "a",  "to",  "compass", "cc", "ccc",   "c",
                       "g",     "f",        "d",          "e",   "c4",  "g3", "f1",  "a3",      "f3", "manual"}) &&
               !whole(w)) {
      return std::nullopt;
    }
  }
  if (found.empty()) return std::nullopt;
  // A bare "Manuals CC to G" says a compass and heads nothing.
  if (found == "manual" &&
      (rest.find(" to ") != std::string::npos || lower(rest).find("manuals") != std::string::npos)) {
    return std::nullopt;
  }
  d.name = found;
  d.name[0] = static_cast<char>(d.name[0] - 'a' + 'A');
  d.pedal = found == "pedal";
  if (found == "swell") d.enclosed = true;
  d.notes = compass(rest, d.pedal);
  for (const std::string& b : brackets) {
    const std::string low = trade::folded(b);
    if (low.find("unenclosed") != std::string::npos) d.enclosed = false;
    else if (low.find("enclosed") != std::string::npos || low.find("box") != std::string::npos) d.enclosed = true;
    if (const auto n = compass(b, d.pedal)) d.notes = n;
  }
  return d;
}

std::optional<DraftStop> stop(std::string_view text, bool needs_length) {
  if (text.size() > 160) return std::nullopt;
  DraftStop s;
  std::string rest{text};
  const auto brackets = take_brackets(rest);
  for (char& c : rest) {
    if (c == ',' || c == ';') c = ' ';
  }
  auto list = words(rest);
  while (!list.empty() && bullet(list.front())) list.erase(list.begin());
  if (list.empty()) return std::nullopt;
  // A number in front is the knob's where a length follows further on, else the length itself ("8 ft Open Diapason").
  Feet feet;
  if (whole(list.front())) {
    bool later = false;
    for (std::size_t i = 1; i < list.size(); ++i) {
      Feet f;
      const bool marked = i == 1 && list[1].find('/') != std::string::npos;
      if (!marked && (length_at(list, i, f) > 0 || (roman(list[i]) && trade::is_mixture(rest)) || intervals(list[i])))
        later = true;
    }
    const bool unit = list.size() > 1 && is_one_of(lower(list[1]), {"ft", "ft.", "feet", "foot", "'"});
    if ((later && !unit) || length_at(list, 0, feet) == 0) list.erase(list.begin());
  }
  std::vector<std::string> named, left_over;
  bool in_front = false;  // "8 ft Open Diapason"
  for (std::size_t i = 0; i < list.size();) {
    const std::string& w = list[i];
    const std::string low = lower(w);
    const std::string next = i + 1 < list.size() ? lower(list[i + 1]) : "";
    const auto n = whole(w);
    if (n && is_one_of(next, {"ranks", "rks", "rks.", "rank", "rk"})) {
      s.mixture_ranks = std::clamp(*n, 1, 8);
      i += 2;
    } else if (n && is_one_of(next, {"pipes", "notes"})) {
      s.pipes = *n;
      i += 2;
    } else if (const std::size_t took = length_at(list, i, feet); took > 0) {
      in_front = in_front || named.empty();
      if (s.feet.size() < 8) s.feet.push_back(feet);
      i += took;
    } else if (intervals(w)) {
      s.mixture = w;
      ++i;
    } else if (const auto r = roman(w); r && !named.empty() && trade::is_mixture(joined(named))) {
      s.mixture_ranks = *r;
      i += is_one_of(next, {"ranks", "rks", "rks.", "rank"}) ? 2 : 1;
    } else if (is_one_of(low, {"tc", "t.c.", "(tc)"}) ||
               (is_one_of(low, {"tenor", "ten", "ten."}) && is_one_of(next, {"c", "c."}))) {
      s.from = Note{48};
      if (!named.empty() && is_one_of(lower(named.back()), {"from", "to"})) named.pop_back();
      if (!left_over.empty() && is_one_of(left_over.back(), {"from", "to"})) left_over.pop_back();
      i += low == "tenor" || low == "ten" || low == "ten." ? 2 : 1;
    } else if (n && *n > 32 && *n <= 97 && !s.feet.empty()) {
      s.pipes = *n;
      ++i;
    } else if (!s.feet.empty() && !named.empty() && !in_front) {
      if (const std::string m = material(low); !m.empty()) s.material = m;
      else if (!is_one_of(low, {"spotted", "&", "and", "-", "/", "bass"})) left_over.push_back(low);
      ++i;
    } else {
      named.push_back(w);
      ++i;
    }
  }
  const auto mark = [](const std::string& w) { return w.find_first_not_of("-:&./") == std::string::npos; };
  while (!named.empty() && mark(named.back())) named.pop_back();
  // "Gamba metal": what it is made of, unless that is its name, as in Open Wood.
  while (named.size() > 1 && !material(lower(named.back())).empty() &&
         trade::kind_of(joined({named.begin(), named.end() - 1}), false).known) {
    s.material = material(lower(named.back()));
    named.pop_back();
  }
  s.name = joined(named);
  while (!s.name.empty() && (s.name.back() == '.' || s.name.back() == ':' || s.name.back() == '-')) s.name.pop_back();
  const std::string f = trade::folded(s.name);
  const bool lettered = std::any_of(s.name.begin(), s.name.end(), letter);
  if (f.empty() || !lettered || named.size() > 5 || s.name.size() > 60) return std::nullopt;
  const bool known = trade::kind_of(s.name, false).known;
  const bool sized = !s.feet.empty() || (trade::is_mixture(s.name) && (s.mixture_ranks > 0 || !s.mixture.empty()));
  if (!left_over.empty() && !known) return std::nullopt;
  if (!sized && (needs_length || !known || named.size() > 4)) return std::nullopt;
  // Octave and Unison Off without a length are couplers.
  if (s.feet.empty() && is_one_of(f, {"octave", "super octave", "sub octave", "unison off", "suboctave"}))
    return std::nullopt;
  if (f.find("tremul") != std::string::npos || f.find("tremolo") != std::string::npos) return std::nullopt;
  if (!left_over.empty()) s.remark = joined(left_over);
  for (const std::string& b : brackets) read_remark(b, s);
  if (trade::is_mixture(s.name)) {
    const std::size_t printed = s.mixture.empty() ? 0 : trade::mixture_lengths(s.name, s.mixture, 0).size();
    if (s.mixture_ranks == 0 && s.feet.size() < 2) s.mixture_ranks = printed > 0 ? static_cast<int>(printed) : 2;
    if (s.mixture_ranks > 0) s.feet.clear();
  } else {
    s.mixture_ranks = 0;
    s.mixture.clear();
  }
  return s;
}

std::optional<DraftCoupler> coupler(std::string_view text, std::string_view here) {
  if (text.size() > 100) return std::nullopt;
  std::string rest{text};
  take_brackets(rest);
  auto list = words(rest);
  while (!list.empty() && bullet(list.front())) list.erase(list.begin());
  const std::string printed = joined(list);
  list = words(trade::folded(printed));
  if (!list.empty() && whole(list.front()) && list.size() > 2) list.erase(list.begin());
  DraftCoupler c;
  std::vector<std::string> divisions;
  bool octave = false, sub = false, unison = false, off = false, to = false;
  for (const std::string& w : list) {
    if (const std::string d = division_word(w); !d.empty()) divisions.push_back(d);
    else if (is_one_of(w, {"octave", "super", "superoctave", "oct", "8ve", "4", "4ft"})) octave = true;
    else if (is_one_of(w, {"sub", "suboctave", "16", "16ft"})) sub = true;
    else if (w == "unison") unison = true;
    else if (w == "off") off = true;
    else if (is_one_of(w, {"to", "on", "upon"})) to = true;
    else if (!is_one_of(w, {"organ", "coupler", "coupled", "the", "ft", "8", "own"})) return std::nullopt;
  }
  const auto capital = [](std::string s) {
    s[0] = static_cast<char>(s[0] - 'a' + 'A');
    return s;
  };
  if (divisions.size() > 2 || (to && divisions.size() != 2)) return std::nullopt;
  if (divisions.empty()) {
    if (here.empty()) return std::nullopt;
    divisions = {lower(here)};
  }
  c.to = capital(divisions.front());
  c.from = capital(divisions.back());
  c.unison_off = unison && off;
  c.semitones = c.unison_off ? 0 : sub ? -12 : octave ? 12 : 0;
  if (off && !unison) return std::nullopt;
  if (c.unison_off && c.from != c.to) return std::nullopt;
  if (!c.unison_off && c.from == c.to && c.semitones == 0) return std::nullopt;
  c.name = c.to;
  if (c.unison_off) c.name += " Unison Off";
  else if (c.semitones != 0) c.name += c.semitones > 0 ? " Octave" : " Sub-Octave";
  if (c.from != c.to) c.name += " to " + c.from;
  return c;
}

}  // namespace calcant::printed
