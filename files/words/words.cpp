#include "files/words/words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <utility>
#include <vector>

#include "engine/quantity/nearest.hpp"
#include "engine/quantity/typed.hpp"

namespace calcant {
namespace {

constexpr std::size_t longest = 20000;  // no jamb holds more words than that

// A name as it is compared: small letters, single spaces, no hyphens, accents or foot marks, fractions spelt out.
std::string folded(std::string_view text) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 32> spelling{{
      {"½", " 1/2"}, {"⅓", " 1/3"}, {"⅔", " 2/3"}, {"¼", " 1/4"}, {"¾", " 3/4"}, {"⅕", " 1/5"}, {"⅖", " 2/5"},
      {"⅗", " 3/5"}, {"⅘", " 4/5"}, {"⅐", " 1/7"}, {"é", "e"},    {"è", "e"},    {"ê", "e"},    {"ë", "e"},
      {"É", "e"},    {"È", "e"},    {"á", "a"},    {"à", "a"},    {"â", "a"},    {"ä", "a"},    {"ö", "o"},
      {"ô", "o"},    {"ó", "o"},    {"ü", "u"},    {"û", "u"},    {"ï", "i"},    {"î", "i"},    {"ç", "c"},
      {"ñ", "n"},    {"’", "'"},    {"′", "'"},    {"–", "-"},
  }};
  std::string s{text};
  for (const auto& [from, to] : spelling) {
    for (std::size_t at = 0; (at = s.find(from, at)) != std::string::npos; at += to.size()) {
      s.replace(at, from.size(), to);
    }
  }
  std::string out;
  for (char c : s) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    if (c == '\t' || c == '\n' || c == '\r' || c == '-' || c == '.' || c == '_') c = ' ';
    if (c == '\'' || (c == ' ' && (out.empty() || out.back() == ' '))) continue;
    out += c;
  }
  while (!out.empty() && out.back() == ' ') out.pop_back();
  for (const std::string_view unit : {" feet", " foot", " ft", "ft"}) {
    const std::size_t n = out.size() - std::min(out.size(), unit.size());
    if (n > 0 && out.substr(n) == unit && out[n - 1] >= '0' && out[n - 1] <= '9') {
      out.resize(n);
      break;
    }
  }
  return out;
}

std::vector<std::string_view> split(std::string_view text, std::string_view separators) {
  std::vector<std::string_view> out;
  std::size_t at = 0;
  while (at <= text.size()) {
    const std::size_t end = std::min(text.find_first_of(separators, at), text.size());
    if (const std::string_view part = trimmed(text.substr(at, end - at)); !part.empty()) out.push_back(part);
    at = end + 1;
  }
  return out;
}

// "diap" for "diapason", "15th" for "fifteenth".
bool abbreviates(std::string_view word, std::string_view name) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 5> ordinals{
      {{"8ve", "octave"}, {"12th", "twelfth"}, {"15th", "fifteenth"}, {"17th", "seventeenth"}, {"19th", "nineteenth"}}};
  if (word == name || std::ranges::find(ordinals, std::pair{word, name}) != ordinals.end()) return true;
  const bool letters = word.find_first_not_of("abcdefghijklmnopqrstuvwxyz") == std::string_view::npos;
  if (!letters || word.size() < 2 || 3 * word.size() > 2 * name.size() || word[0] != name[0]) return false;
  std::size_t at = 0;
  for (const char c : name)
    if (at < word.size() && word[at] == c) ++at;
  return at == word.size();
}

// Anything on the console that can be drawn.
struct Knob {
  enum class Kind { stop, coupler, accessory } kind;
  std::size_t index;
  std::string id;
  std::string name;        // as engraved
  std::string plain;       // without its length
  DivisionIndex division;  // -1: none
};

class Jambs {
 public:
  explicit Jambs(const Organ& o) : o_(o) {
    for (std::size_t i = 0; i < o.stops.size(); ++i) {
      const Stop& s = o.stops[i];
      knobs_.push_back({Knob::Kind::stop, i, s.id, full_name(s), s.name, s.division});
    }
    for (std::size_t i = 0; i < o.couplers.size(); ++i) {
      const Coupler& c = o.couplers[i];
      knobs_.push_back({Knob::Kind::coupler, i, c.id, c.name, c.name, c.to});
    }
    for (std::size_t i = 0; i < o.accessories.size(); ++i) {
      const Accessory& a = o.accessories[i];
      knobs_.push_back({Knob::Kind::accessory, i, a.id, a.name, a.name, a.division.value_or(-1)});
    }
  }

  Result<void> draw(std::string_view item, Registration& into) const {
    if (item.find('=') != std::string_view::npos) return set_box(item, into);
    std::optional<DivisionIndex> only;
    std::string_view wanted = item;
    if (const std::size_t colon = item.find(':'); colon != std::string_view::npos) {
      const auto division = find_division(trimmed(item.substr(0, colon)));
      if (!division) return tl::unexpected(division.error());
      only = *division;
      wanted = trimmed(item.substr(colon + 1));
    }
    const std::vector<const Knob*> found = matching(wanted, only);
    if (found.empty()) return unknown(item, wanted, only);
    if (found.size() > 1) return ambiguous(wanted, found);
    const Knob& k = *found.front();
    switch (k.kind) {
      case Knob::Kind::stop: into.stops.set(k.index); break;
      case Knob::Kind::coupler: into.couplers.set(k.index); break;
      case Knob::Kind::accessory: {
        const AccessoryKind kind = o_.accessories[k.index].kind;
        if (kind == AccessoryKind::composition || kind == AccessoryKind::reverser) {
          return fail(fmt::format(
              "\"{}\" moves knobs and is not itself drawn; name the stops and couplers it leaves drawn", k.name));
        }
        into.accessories.set(k.index);
        break;
      }
    }
    return {};
  }

 private:
  const std::string& division_name(DivisionIndex d) const { return o_.divisions[static_cast<std::size_t>(d)].name; }

  Result<DivisionIndex> find_division(std::string_view text) const {
    const std::string f = folded(text);
    std::vector<std::string> known;
    for (std::size_t d = 0; d < o_.divisions.size(); ++d) {
      if (f == folded(o_.divisions[d].name) || f == folded(o_.divisions[d].id)) return static_cast<DivisionIndex>(d);
      known.push_back(o_.divisions[d].name);
    }
    const auto short_for = [&](const std::string& name) { return meant(text, name) == Meant::abbreviated; };
    if (std::ranges::count_if(known, short_for) == 1)
      return static_cast<DivisionIndex>(std::ranges::find_if(known, short_for) - known.begin());
    return fail(fmt::format("this organ has no division \"{}\"{}; it has {}", text.substr(0, 60), perhaps(text, known),
                            fmt::join(known, ", ")));
  }

  // The closest kind of match that there is: by id, by the whole engraving, by the name without its length.
  std::vector<const Knob*> matching(std::string_view text, std::optional<DivisionIndex> only) const {
    const std::string f = folded(text);
    std::vector<const Knob*> out;
    const auto collect = [&](const auto& same) {
      if (!out.empty()) return;
      for (const Knob& k : knobs_) {
        if ((!only || k.division == *only) && same(k)) out.push_back(&k);
      }
    };
    collect([&](const Knob& k) { return k.id == text; });
    collect([&](const Knob& k) { return folded(k.name) == f; });
    collect([&](const Knob& k) { return folded(k.plain) == f; });
    collect([&](const Knob& k) { return meant(text, k.name) == Meant::abbreviated; });
    collect([&](const Knob& k) { return meant(text, k.plain) == Meant::abbreviated; });
    return out;
  }

  std::string with_division(const Knob& k) const {
    return k.division < 0 || k.kind == Knob::Kind::coupler ? k.name : division_name(k.division) + ": " + k.name;
  }

  tl::unexpected<Error> ambiguous(std::string_view wanted, const std::vector<const Knob*>& found) const {
    std::vector<std::string> names;
    for (const Knob* k : found) names.push_back("\"" + with_division(*k) + "\"");
    bool alike = false;
    for (std::size_t i = 0; i < names.size(); ++i) {
      for (std::size_t j = i + 1; j < names.size(); ++j) alike = alike || names[i] == names[j];
    }
    if (alike) {
      names.clear();
      for (const Knob* k : found) names.push_back("\"" + k->id + "\"");
    }
    return fail(
        fmt::format("\"{}\" may be any of {}; write one of these", wanted.substr(0, 60), fmt::join(names, ", ")));
  }

  tl::unexpected<Error> unknown(std::string_view item, std::string_view wanted,
                                std::optional<DivisionIndex> only) const {
    const std::vector<const Knob*> elsewhere = only ? matching(wanted, std::nullopt) : std::vector<const Knob*>{};
    if (!elsewhere.empty()) {
      return fail(fmt::format("the {} has no \"{}\", but there is \"{}\"", division_name(*only), wanted.substr(0, 60),
                              with_division(*elsewhere.front())));
    }
    std::vector<std::string> known;
    for (const Knob& k : knobs_) {
      if (only && k.division != *only) continue;
      known.push_back(folded(k.name));
      known.push_back(folded(k.plain));
      known.push_back(k.id);
    }
    std::string hint = nearest(folded(wanted), known);
    for (const Knob& k : knobs_) {
      if (!hint.empty() && (hint == folded(k.name) || hint == folded(k.plain) || hint == k.id)) {
        hint = with_division(k);
        break;
      }
    }
    return fail(fmt::format("this organ has no stop or coupler \"{}\"{}", item.substr(0, 60),
                            hint.empty() ? others(wanted, only) : "; perhaps \"" + hint + "\""));
  }

  // Where no name is like it: those that have it in them, or the stops of its length, or else the first there are.
  std::string others(std::string_view wanted, std::optional<DivisionIndex> only) const {
    constexpr std::size_t most = 8;
    const std::size_t blank = wanted.rfind(' ');
    const std::string length = blank == std::string_view::npos ? "" : std::string{wanted.substr(blank)};
    const auto ends = [&](const std::string& name) { return !length.empty() && name.ends_with(length); };
    const std::string part = folded(wanted);
    std::vector<std::string> within;
    std::vector<std::string> alike;
    std::vector<std::string> all;
    for (const Knob& k : knobs_) {
      if (k.kind == Knob::Kind::accessory || (only && k.division != *only)) continue;
      all.push_back(with_division(k));
      if (part.size() >= 3 && folded(k.name).find(part) != std::string::npos) within.push_back(with_division(k));
      if (ends(k.name)) alike.push_back(with_division(k));
    }
    std::vector<std::string>& told = !within.empty() ? within : !alike.empty() ? alike : all;
    const bool more = told.size() > most;
    if (more) told.resize(most);
    if (told.empty()) return "";
    return fmt::format("; there are {}{}", fmt::join(told, ", "), more ? " and others" : "");
  }

  Result<void> set_box(std::string_view item, Registration& into) const {
    const std::size_t equals = item.find('=');
    const std::string which = folded(trimmed(item.substr(0, equals)));
    const std::string_view value = trimmed(item.substr(equals + 1));
    float opening = -1;
    const auto [end, ec] = std::from_chars(value.data(), value.data() + value.size(), opening);
    if (ec != std::errc{} || end != value.data() + value.size())
      opening = value == "open" ? 1 : value == "shut" ? 0 : -1;
    if (!(opening >= 0 && opening <= 1)) {
      return fail(
          fmt::format("\"{}\" sets a box to \"{}\"; write a number from 0 (shut) to 1 (open), as \"Swell box=0.5\"",
                      item.substr(0, 60), value.substr(0, 30)));
    }
    std::vector<std::string> known;
    for (std::size_t b = 0; b < o_.boxes.size(); ++b) {
      bool named = which == folded(o_.boxes[b].name) || which == folded(o_.boxes[b].id);
      for (const Division& d : o_.divisions) {
        named = named || (d.box == static_cast<BoxIndex>(b) && which == folded(d.name) + " box");
      }
      if (named) {
        into.box[b] = opening;
        return {};
      }
      known.push_back(o_.boxes[b].name);
    }
    return fail(known.empty() ? "this organ has no swell box"
                              : fmt::format("this organ has no box \"{}\"; it has {}", which.substr(0, 60),
                                            fmt::join(known, ", ")));
  }

  const Organ& o_;
  std::vector<Knob> knobs_;
};

Result<void> hold(const Keyboard& board, std::string_view token, NoteSet& into) {
  const std::size_t dash = token.find('-', 1);
  const Result<Note> low = parse_note(token.substr(0, dash));
  if (!low) return tl::unexpected(low.error());
  const Result<Note> high = dash == std::string_view::npos ? low : parse_note(token.substr(dash + 1));
  if (!high) return tl::unexpected(high.error());
  if (*low > *high) return fail(fmt::format("\"{}\" runs downward; write the lower key first", token.substr(0, 30)));
  for (const Note end : {*low, *high}) {
    if (!board.keys.contains(end)) {
      return fail(fmt::format("the {} has no key {}; its keys go from {} to {}", board.name, name(end),
                              name(Note{board.keys.lowest()}), name(Note{board.keys.highest()})));
    }
  }
  into |= NoteSet::range(low->midi, high->midi) & board.keys;
  return {};
}

}  // namespace

Meant meant(std::string_view typed, std::string_view name) {
  const std::string a = folded(typed);
  const std::string b = folded(name);
  if (a == b) return Meant::in_full;
  return std::ranges::equal(split(a, " "), split(b, " "), abbreviates) ? Meant::abbreviated : Meant::not_at_all;
}

Result<KeyboardIndex> parse_keyboard(const Organ& organ, std::string_view text) {
  const std::string f = folded(text);
  std::vector<std::string> known;
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    if (f == folded(organ.keyboards[k].name) || f == folded(organ.keyboards[k].id))
      return static_cast<KeyboardIndex>(k);
    known.push_back(organ.keyboards[k].name);
  }
  return fail(fmt::format("this organ has no keyboard \"{}\"{}; it has {}", text.substr(0, 60), perhaps(text, known),
                          fmt::join(known, ", ")));
}

Result<Registration> parse_registration(const Organ& organ, std::string_view text) {
  if (text.size() > longest) return fail("the list of stops is far longer than any console");
  Registration drawn;
  for (std::size_t b = 0; b < organ.boxes.size(); ++b) drawn.box[b] = 1;
  const Jambs jambs{organ};
  for (const std::string_view item : split(text, ",;")) {
    if (const Result<void> done = jambs.draw(item, drawn); !done) return tl::unexpected(done.error());
  }
  return drawn;
}

std::string registration_text(const Organ& organ, const Registration& drawn) {
  std::string out;
  const auto add = [&out](const std::string& s) { out += (out.empty() ? "" : ", ") + s; };
  // A name that would not be read back as this very knob is written as its id.
  const auto add_knob = [&](const std::string& written, const std::string& id, auto is_it) {
    const auto again = parse_registration(organ, written);
    add(again && is_it(*again) ? written : id);
  };
  for (std::size_t i = 0; i < organ.stops.size(); ++i) {
    const Stop& s = organ.stops[i];
    if (!drawn.stops[i]) continue;
    add_knob(organ.divisions[static_cast<std::size_t>(s.division)].name + ": " + full_name(s), s.id,
             [&](const Registration& r) { return r.stops.count() == 1 && r.stops[i]; });
  }
  for (std::size_t i = 0; i < organ.couplers.size(); ++i) {
    if (!drawn.couplers[i]) continue;
    add_knob(organ.couplers[i].name, organ.couplers[i].id,
             [&](const Registration& r) { return r.couplers.count() == 1 && r.couplers[i]; });
  }
  for (std::size_t i = 0; i < organ.accessories.size(); ++i) {
    if (!drawn.accessories[i]) continue;
    const Accessory& a = organ.accessories[i];
    const std::string written =
        a.division ? organ.divisions[static_cast<std::size_t>(*a.division)].name + ": " + a.name : a.name;
    add_knob(written, a.id, [&](const Registration& r) { return r.accessories.count() == 1 && r.accessories[i]; });
  }
  for (std::size_t b = 0; b < organ.boxes.size(); ++b) {
    if (!(drawn.box[b] < 1)) continue;
    const std::string opening = fmt::format("={:.3g}", drawn.box[b]);
    const auto again = parse_registration(organ, organ.boxes[b].name + opening);
    add((again && again->box[b] < 1 ? organ.boxes[b].name : organ.boxes[b].id) + opening);
  }
  return out;
}

Result<KeysDown> parse_keys(const Organ& organ, std::string_view text) {
  if (text.size() > longest) return fail("the list of keys is far longer than ten fingers and two feet need");
  KeysDown down;
  if (trimmed(text).empty()) return down;
  const std::size_t first = text.find(':');
  if (first == std::string_view::npos) {
    return fail(fmt::format("\"{}\" does not say on which keyboard; write \"{}:C4,E4,G4\"", text.substr(0, 60),
                            organ.keyboards.empty() ? "Great" : organ.keyboards.front().name));
  }
  std::string_view board_name = trimmed(text.substr(0, first));
  std::string_view rest = text.substr(first + 1);
  while (true) {
    const Result<KeyboardIndex> board = parse_keyboard(organ, board_name);
    if (!board) return tl::unexpected(board.error());
    // Up to the name before the next colon, which may be of several words.
    const std::size_t colon = rest.find(':');
    std::string_view keys = rest.substr(0, colon);
    if (colon != std::string_view::npos) {
      std::size_t name_at = std::string_view::npos;
      for (std::size_t at = keys.size(); at-- > 0;) {
        const bool starts =
            keys[at] != ' ' && (at == 0 || keys[at - 1] == ' ' || keys[at - 1] == ',' || keys[at - 1] == ';');
        if (!starts) continue;
        if (name_at == std::string_view::npos || parse_keyboard(organ, keys.substr(at))) name_at = at;
        if (keys.size() - at > 60) break;
      }
      if (name_at == std::string_view::npos) name_at = keys.size();
      board_name = trimmed(keys.substr(name_at));
      keys = keys.substr(0, name_at);
    }
    const Keyboard& k = organ.keyboards[static_cast<std::size_t>(*board)];
    for (const std::string_view token : split(keys, ", ;\t\n\r")) {
      if (const auto done = hold(k, token, down.keys[static_cast<std::size_t>(*board)]); !done) {
        return tl::unexpected(done.error());
      }
    }
    if (colon == std::string_view::npos) return down;
    rest = rest.substr(colon + 1);
  }
}

std::string keys_text(const Organ& organ, const KeysDown& down) {
  std::string out;
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    if (down.keys[k].empty()) continue;
    out += (out.empty() ? "" : " ") + organ.keyboards[k].name + ":";
    bool first = true;
    for (const int key : down.keys[k]) {
      out += (first ? "" : ",") + name(Note{key});
      first = false;
    }
  }
  return out;
}

}  // namespace calcant
