#include "engine/score/roles.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <string>

#include "engine/score/lines.hpp"

namespace calcant {
namespace {

// Lower case, with the accented letters of organ words (é, è, É) plain.
std::string plain(std::string_view name) {
  std::string out;
  for (std::size_t i = 0; i < name.size(); ++i) {
    const auto c = static_cast<unsigned char>(name[i]);
    if (c == 0xC3 && i + 1 < name.size()) {
      const auto next = static_cast<unsigned char>(name[i + 1]);
      if (next == 0xA9 || next == 0xA8 || next == 0x89 || next == 0x88) {
        out += 'e';
        ++i;
        continue;
      }
    }
    out += static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c);
  }
  return out;
}

// Whether one of `words` begins a word of the name.
template <std::size_t N>
bool has_word(std::string_view name, const std::array<std::string_view, N>& words) {
  for (std::size_t i = 0; i < name.size(); ++i) {
    const bool begins =
        i == 0 || !((name[i - 1] >= 'a' && name[i - 1] <= 'z') || static_cast<unsigned char>(name[i - 1]) >= 0x80);
    if (!begins) continue;
    for (const std::string_view w : words) {
      if (name.substr(i, w.size()) == w) return true;
    }
  }
  return false;
}

bool named_pedal(std::string_view name) { return has_word(name, std::array<std::string_view, 2>{"ped", "orgelped"}); }
bool named_manual(std::string_view name) {
  return has_word(
      name, std::array<std::string_view, 23>{"organ",       "orgel",   "orgue", "man.",        "manual",    "man ",
                                             "great",       "swell",   "gt.",   "sw.",         "hauptwerk", "oberwerk",
                                             "ruckpositiv", "positif", "recit", "grand orgue", "keyboard",  "clavier",
                                             "harmonium",   "hw.",     "ow.",   "piano",       "continuo"});
}
// Singers and players of other instruments. "Choir" is singers only where there is something to sing: it is a manual, too.
bool named_other(const Stave& s, std::string_view name) {
  if (s.sung && has_word(name, std::array<std::string_view, 2>{"choir", "chorus"})) return true;
  return has_word(name,
                  std::array<std::string_view, 22>{
                      "soprano", "alto",     "tenor",   "baritone",    "bass",       "voice",   "vocal", "congregation",
                      "unison",  "violin",   "viola",   "violoncello", "cello",      "trumpet", "horn",  "flute",
                      "oboe",    "clarinet", "bassoon", "trombone",    "singstimme", "timpani"});
}

void set(Stave& s, Role role, std::string reason) {
  s.role = role;
  s.role_reason = std::move(reason);
}

// A part called Pedal is all pedal; of a part of three staves or more whose name speaks of the pedal only the lowest is, and
// none of a smaller one that speaks of manuals too. The other candidates are the hands'.
void name_pedals(std::vector<Stave>& staves, std::vector<int>& manual, const std::vector<int>& candidates) {
  for (const int c : candidates) {
    Stave& stave = staves[static_cast<std::size_t>(c)];
    const auto of_part =
        std::count_if(staves.begin(), staves.end(), [&](const Stave& s) { return s.part == stave.part; });
    const std::string name = plain(stave.name);
    const bool whole = of_part <= 2 && !named_manual(name);
    const bool lowest = of_part >= 3 && stave.number == of_part;
    if (named_pedal(name) && (whole || lowest)) set(stave, Role::feet, fmt::format("named {}", stave.name));
    else manual.push_back(c);
  }
}

void share_hands(Score& s, const std::vector<int>& manual) {
  const auto stave = [&](std::size_t i) -> Stave& { return s.staves[static_cast<std::size_t>(manual[i])]; };
  if (manual.size() == 1) {
    set(stave(0), Role::either_hand, "the only stave for the hands");
    return;
  }
  // Several instruments of two staves each: each has its right and its left hand.
  std::vector<int> per_part;
  for (const int m : manual) {
    const auto part = static_cast<std::size_t>(s.staves[static_cast<std::size_t>(m)].part);
    if (per_part.size() <= part) per_part.resize(part + 1, 0);
    ++per_part[part];
  }
  const bool pairs =
      manual.size() > 2 && std::all_of(per_part.begin(), per_part.end(), [](int n) { return n == 0 || n == 2; });
  for (std::size_t i = 0; i < manual.size(); ++i) {
    const bool upper = pairs ? i % 2 == 0 : i == 0;
    const bool lower = pairs ? i % 2 == 1 : i + 1 == manual.size();
    const bool four = !pairs && manual.size() == 4;
    if (upper || (four && i < 2)) set(stave(i), Role::right_hand, "upper stave of the hands");
    else if (lower || four) set(stave(i), Role::left_hand, "lower stave of the hands");
    else set(stave(i), Role::either_hand, "between the upper and the lower stave of the hands");
  }
}

}  // namespace

Result<RoleOverride> parse_role_override(std::string_view text) {
  const auto bad = [&] {
    return fail(
        fmt::format("\"{}\" gives no stave its player; write it like 3=feet, staves counted from the top, with "
                    "right, left, either, feet or none",
                    text));
  };
  const auto equals = text.find('=');
  if (equals == std::string_view::npos || equals == 0 || equals > 3) return bad();
  int number = 0;
  for (const char c : text.substr(0, equals)) {
    if (c < '0' || c > '9') return bad();
    number = number * 10 + (c - '0');
  }
  if (number == 0) return bad();
  const std::string_view who = text.substr(equals + 1);
  const int stave = number - 1;
  if (who == "right") return RoleOverride{stave, Role::right_hand};
  if (who == "left") return RoleOverride{stave, Role::left_hand};
  if (who == "either") return RoleOverride{stave, Role::either_hand};
  if (who == "feet") return RoleOverride{stave, Role::feet};
  if (who == "none") return RoleOverride{stave, Role::not_played};
  return bad();
}

Result<void> assign_roles(Score& s, const RoleOverrides& overrides) {
  const bool organ_named = std::any_of(s.staves.begin(), s.staves.end(), [](const Stave& st) {
    const std::string name = plain(st.name);
    return (named_manual(name) || named_pedal(name)) && !named_other(st, name);
  });
  std::vector<int> candidates;
  for (std::size_t i = 0; i < s.staves.size(); ++i) {
    const std::string name = plain(s.staves[i].name);
    if (organ_named && named_other(s.staves[i], name) && !named_manual(name) && !named_pedal(name)) {
      set(s.staves[i], Role::not_played, fmt::format("named {}, beside an organ", s.staves[i].name));
    } else {
      candidates.push_back(static_cast<int>(i));
    }
  }
  std::vector<int> manual;
  name_pedals(s.staves, manual, candidates);
  const bool feet_named = manual.size() < candidates.size();
  if (!feet_named && manual.size() == 3) {
    Stave& lowest = s.staves[static_cast<std::size_t>(manual.back())];
    if (lowest.clef == 'F') {
      set(lowest, Role::feet, "lowest of three staves, bass clef");
      manual.pop_back();
    } else {
      s.remarks.push_back(
          fmt::format("No stave is named Pedal, and the lowest of the three has no bass clef; say so "
                      "with {}=feet if the feet play it.",
                      manual.back() + 1));
    }
  }
  share_hands(s, manual);
  for (const RoleOverride& o : overrides) {
    if (o.stave < 0 || o.stave >= static_cast<int>(s.staves.size())) {
      return fail(fmt::format("there is no stave {}; this score has {}", o.stave + 1, s.staves.size()));
    }
    set(s.staves[static_cast<std::size_t>(o.stave)], o.role, "as you said");
  }
  s.hymn = looks_like_hymn(s);
  return {};
}

}  // namespace calcant
