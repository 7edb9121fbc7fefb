#include "engine/plan/verse.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <utility>

namespace calcant {
namespace {

struct KindWords {
  VerseKind kind;
  std::string_view words;
};
// Of two that are said of one verse the first in this order is planned.
constexpr std::array kinds{KindWords{VerseKind::unaccompanied, "unaccompanied"},
                           KindWords{VerseKind::unaccompanied, "a cappella"},
                           KindWords{VerseKind::unaccompanied, "voices alone"},
                           KindWords{VerseKind::unaccompanied, "voices only"},
                           KindWords{VerseKind::unaccompanied, "no organ"},
                           KindWords{VerseKind::unaccompanied, "without organ"},
                           KindWords{VerseKind::solo, "tune on a solo stop"},
                           KindWords{VerseKind::solo, "tune on a reed"},
                           KindWords{VerseKind::solo, "tune on the reed"},
                           KindWords{VerseKind::solo, "melody on a solo stop"},
                           KindWords{VerseKind::solo, "solo stop"},
                           KindWords{VerseKind::solo, "solo"},
                           KindWords{VerseKind::no_pedal, "no pedal"},
                           KindWords{VerseKind::no_pedal, "no pedals"},
                           KindWords{VerseKind::no_pedal, "without pedal"},
                           KindWords{VerseKind::no_pedal, "without pedals"},
                           KindWords{VerseKind::no_pedal, "without the pedal"},
                           KindWords{VerseKind::no_pedal, "without the pedals"},
                           KindWords{VerseKind::no_pedal, "no feet"},
                           KindWords{VerseKind::no_pedal, "manuals only"},
                           KindWords{VerseKind::no_pedal, "manual only"},
                           KindWords{VerseKind::no_pedal, "hands only"},
                           KindWords{VerseKind::descant, "descant"},
                           KindWords{VerseKind::unison, "unison"},
                           KindWords{VerseKind::unison, "in unison"},
                           KindWords{VerseKind::harmony, "harmony"},
                           KindWords{VerseKind::harmony, "in harmony"}};

struct StopWords {
  StopsAsked asked;
  std::string_view words;
};
constexpr StopsAsked no_mixture{false, {}};
constexpr StopsAsked no_reed{{}, false};
constexpr StopsAsked neither{false, false};
constexpr StopsAsked with_mixture{true, {}};
constexpr StopsAsked with_reed{{}, true};
constexpr std::array stop_words{StopWords{no_mixture, "no mixture"},
                                StopWords{no_mixture, "no mixtures"},
                                StopWords{no_mixture, "without mixture"},
                                StopWords{no_mixture, "without mixtures"},
                                StopWords{no_mixture, "without the mixture"},
                                StopWords{no_reed, "no reed"},
                                StopWords{no_reed, "no reeds"},
                                StopWords{no_reed, "without reed"},
                                StopWords{no_reed, "without reeds"},
                                StopWords{no_reed, "without the reeds"},
                                StopWords{neither, "no mixtures or reeds"},
                                StopWords{neither, "no reeds or mixtures"},
                                StopWords{neither, "without reeds or mixtures"},
                                StopWords{neither, "without mixtures or reeds"},
                                StopWords{with_mixture, "mixture"},
                                StopWords{with_mixture, "mixtures"},
                                StopWords{with_mixture, "add mixture"},
                                StopWords{with_mixture, "add the mixture"},
                                StopWords{with_reed, "reed"},
                                StopWords{with_reed, "reeds"},
                                StopWords{with_reed, "big reed"},
                                StopWords{with_reed, "big reeds"},
                                StopWords{with_reed, "add reeds"},
                                StopWords{with_reed, "add the reeds"}};

const std::vector<std::string_view>& phrases() {
  static const std::vector<std::string_view> list = [] {
    std::vector<std::string_view> out;
    for (const KindWords& k : kinds) out.push_back(k.words);
    for (const StopWords& s : stop_words) out.push_back(s.words);
    return out;
  }();
  return list;
}

void add(std::string& note, const std::string& more) { note += (note.empty() ? "" : "; ") + more; }
std::string quoted(std::string_view text) { return fmt::format("\u201c{}\u201d", text.substr(0, 60)); }

// What is not followed, in words for the sheet.
std::string note_of(const WordsRead& read, const Wordbook& own) {
  std::string note;
  for (const std::string& d : read.denied) add(note, quoted(d) + " is not followed");
  for (const std::string& u : read.unknown) {
    // Of a short word nearly every other is near.
    const std::string near = u.size() < 4 ? "" : nearest_word(u, own, phrases());
    add(note, quoted(u) + " is not known" + (near.empty() ? "" : ", perhaps " + quoted(near)));
  }
  for (const auto& [grade, word] : read.graded)
    add(note, fmt::format("{} is taken as {}", quoted(grade + ' ' + word), quoted(word)));
  return note;
}

Verse parse_whole(std::string_view text, const Wordbook& own) {
  const WordsRead read = read_words(text, own, phrases());
  Verse v;
  v.wish = read.known;
  v.note = note_of(read, own);
  for (const StopWords& s : stop_words) {
    if (std::find(read.phrases.begin(), read.phrases.end(), s.words) == read.phrases.end()) continue;
    // Of two that say the contrary the first in the table is planned.
    const auto lay = [&](std::optional<bool>& to, std::optional<bool> asked) {
      if (asked && to && *to != *asked) add(v.note, quoted(s.words) + " is not planned beside its contrary");
      else if (asked) to = asked;
    };
    lay(v.stops.mixture, s.asked.mixture);
    lay(v.stops.reed, s.asked.reed);
  }
  std::vector<VerseKind> said;
  for (const KindWords& k : kinds) {
    for (const std::string& p : read.phrases) {
      if (p == k.words && (said.empty() || said.back() != k.kind)) said.push_back(k.kind);
    }
  }
  if (said.empty()) return v;
  v.kind = said.front();
  for (std::size_t i = 1; i < said.size(); ++i) {
    if (said[i] != VerseKind::harmony)
      add(v.note, fmt::format("{} is not planned beside {}", quoted(word(said[i])), quoted(word(v.kind))));
  }
  return v;
}

// A kind is of a whole verse.
std::string half_note(const Verse& said) {
  std::string note = said.note;
  if (said.kind != VerseKind::harmony) add(note, quoted(word(said.kind)) + " is for a whole verse");
  if (said.stops.any()) add(note, quoted(words(said.stops)) + " is for a whole verse");
  return note;
}

}  // namespace

std::string_view word(VerseKind k) {
  switch (k) {
    case VerseKind::harmony: return "harmony";
    case VerseKind::unison: return "unison";
    case VerseKind::descant: return "descant";
    case VerseKind::solo: return "tune on a solo stop";
    case VerseKind::no_pedal: return "no pedal";
    case VerseKind::unaccompanied: break;
  }
  return "unaccompanied";
}

std::string words(const StopsAsked& asked) {
  std::string out;
  if (asked.mixture) out = *asked.mixture ? "with mixture" : "no mixture";
  if (asked.reed) out += fmt::format("{}{}", out.empty() ? "" : ", ", *asked.reed ? "with reed" : "no reed");
  return out;
}

Verse parse_verse(std::string_view text, const Wordbook& own) {
  const auto bar = text.find('|');
  Verse v = parse_whole(text.substr(0, bar), own);
  if (bar == std::string_view::npos) return v;
  const Verse second = parse_whole(text.substr(bar + 1), own);
  v.second = second.wish;
  v.second_note = half_note(second);
  return v;
}

void lay_words(Verse& verse, const Verse& said) {
  verse.kind = said.kind;
  verse.wish = said.wish;
  verse.stops = said.stops;
  verse.note = said.note;
  verse.second = said.second;
  verse.second_note = said.second_note;
}

void lay_words(Verse& verse, const Verse& said, Half half) {
  if (half == Half::second) {
    verse.second = said.wish;
    verse.second_note = half_note(said);
    return;
  }
  if (verse.second.empty()) verse.second = verse.wish;
  verse.wish = said.wish;
  verse.note = half_note(said);
}

}  // namespace calcant
