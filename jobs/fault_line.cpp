#include "jobs/fault_line.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <vector>

#include "engine/quantity/nearest.hpp"
#include "engine/quantity/note.hpp"
#include "engine/quantity/typed.hpp"
#include "files/specification/specification.hpp"
#include "files/words/words.hpp"
#include "jobs/faults.hpp"

namespace calcant {
namespace {

using Words = std::vector<std::string>;

Words words_of(std::string_view line) {
  Words out;
  std::string word;
  for (const char c : line) {
    if (c == ' ' || c == '\t' || c == ',' || c == ';' || c == ':') {
      if (!word.empty()) out.push_back(std::move(word));
      word.clear();
    } else {
      word += c;
    }
  }
  if (!word.empty()) out.push_back(std::move(word));
  return out;
}

std::string joined(const Words& words, std::size_t from, std::size_t to) {
  std::string out;
  for (std::size_t i = from; i < std::min(to, words.size()); ++i) out += (out.empty() ? "" : " ") + words[i];
  return out;
}

struct Sign {
  std::string_view words;
  FaultKind kind;
};
// What people say, and what it is called in the book. Longer sayings first, so that "out of use" is not "out of tune".
constexpr std::array<Sign, 33> signs{{{"out of use", FaultKind::out_of_use},
                                      {"out of tune", FaultKind::out_of_tune},
                                      {"slow to speak", FaultKind::slow},
                                      {"off speech", FaultKind::off_speech},
                                      {"does not speak", FaultKind::dead},
                                      {"doesn't speak", FaultKind::dead},
                                      {"won't speak", FaultKind::dead},
                                      {"not speaking", FaultKind::dead},
                                      {"sounds on", FaultKind::cipher},
                                      {"overblows", FaultKind::off_speech},
                                      {"unsteady", FaultKind::unsteady},
                                      {"wavers", FaultKind::unsteady},
                                      {"trembles", FaultKind::unsteady},
                                      {"ciphering", FaultKind::cipher},
                                      {"ciphers", FaultKind::cipher},
                                      {"cipher", FaultKind::cipher},
                                      {"sticks", FaultKind::cipher},
                                      {"running", FaultKind::running},
                                      {"runs", FaultKind::running},
                                      {"murmur", FaultKind::running},
                                      {"silent", FaultKind::dead},
                                      {"dead", FaultKind::dead},
                                      {"late", FaultKind::late},
                                      {"slow", FaultKind::slow},
                                      {"flat", FaultKind::out_of_tune},
                                      {"sharp", FaultKind::out_of_tune},
                                      {"tune", FaultKind::out_of_tune},
                                      {"octave", FaultKind::off_speech},
                                      {"weak", FaultKind::weak},
                                      {"faint", FaultKind::weak},
                                      {"hiss", FaultKind::noise},
                                      {"rattle", FaultKind::noise},
                                      {"noise", FaultKind::noise}}};

// What was heard, from its first word on; the sign's place in it where there is one.
struct Heard {
  FaultKind kind = FaultKind::other;
  std::size_t at = 0;   // of the sign, in letters
  std::size_t end = 0;  // behind it
};
Heard heard_in(std::string_view said) {
  const std::string text = lower(said);
  for (const Sign& s : signs) {
    for (std::size_t at = text.find(s.words); at != std::string::npos; at = text.find(s.words, at + 1))
      if (at == 0 || text[at - 1] == ' ') return {s.kind, at, at + s.words.size()};
  }
  return {};
}

// Words that may stand before what was heard and change nothing.
bool says_nothing_more(std::string_view word) {
  static constexpr std::array<std::string_view, 45> known{
      "is",         "are",   "was",   "were",  "has",       "goes",   "gone",   "went",   "sounds",
      "speaks",     "seems", "keeps", "gives", "makes",     "still",  "now",    "always", "often",
      "a",          "an",    "the",   "it",    "bit",       "little", "very",   "rather", "quite",
      "too",        "much",  "well",  "badly", "slightly",  "nearly", "almost", "all",    "whole",
      "completely", "stop",  "rank",  "of",    "sometimes", "going",  "again",  "by",     "and"};
  return std::ranges::find(known, lower(word)) != known.end();
}

struct Name {
  std::string text;
  std::optional<StopIndex> stop;  // none: the division
  DivisionIndex division = 0;
};
std::vector<Name> names_of(const Organ& organ) {
  std::vector<Name> out;
  for (std::size_t s = 0; s < organ.stops.size(); ++s) {
    const Stop& stop = organ.stops[s];
    const std::string& division = organ.divisions[static_cast<std::size_t>(stop.division)].name;
    for (const std::string& name : {full_name(stop), stop.name}) {
      out.push_back({name, static_cast<StopIndex>(s), stop.division});
      out.push_back({division + " " + name, static_cast<StopIndex>(s), stop.division});
    }
  }
  for (std::size_t d = 0; d < organ.divisions.size(); ++d)
    out.push_back({organ.divisions[d].name, std::nullopt, static_cast<DivisionIndex>(d)});
  return out;
}

// The longest beginning of the line that is a name, in full before abbreviated; every stop that may be meant by it.
struct Named {
  std::vector<Name> names;
  std::size_t words = 0;
};
Named named_by(const Words& words, const std::vector<Name>& known) {
  Named out;
  for (const Meant way : {Meant::in_full, Meant::abbreviated}) {
    for (std::size_t n = words.size(); n > out.words; --n) {
      const std::string head = joined(words, 0, n);
      std::vector<Name> found;
      for (const Name& k : known)
        if (meant(head, k.text) == way) found.push_back(k);
      if (!found.empty()) out = {found, n};
    }
  }
  std::ranges::sort(out.names, {}, &Name::stop);
  const auto twice = std::ranges::unique(out.names, {}, &Name::stop);
  out.names.erase(twice.begin(), twice.end());
  return out;
}

// A note among the words, and how many it takes: "F#2", "F sharp 2", "tenor C", "key 25".
struct Place {
  Note note;
  std::size_t at = 0;
  std::size_t words = 0;
};
std::optional<Place> note_at(const Words& words, std::size_t at, Note bottom) {
  if (const std::string first = lower(joined(words, at, at + 1)); first == "key" || first == "note") {
    int number = 0;
    const std::string next = joined(words, at + 1, at + 2);
    const auto [end, failed] = std::from_chars(next.data(), next.data() + next.size(), number);
    if (failed == std::errc{} && end == next.data() + next.size() && number >= 1 &&
        number <= highest_midi - bottom.midi)
      return Place{Note{bottom.midi + number - 1}, at, 2};
  }
  for (std::size_t n = std::min<std::size_t>(4, words.size() - at); n > 0; --n)
    if (const auto note = parse_spoken_note(joined(words, at, at + n))) return Place{*note, at, n};
  return std::nullopt;
}
std::optional<Place> first_note(const Words& words, std::size_t from, Note bottom) {
  for (std::size_t i = from; i < words.size(); ++i)
    if (auto p = note_at(words, i, bottom)) return p;
  return std::nullopt;
}

bool is_stretch(std::string_view word) {  // "C4-E4"
  const std::size_t dash = word.find('-');
  return dash != std::string_view::npos && dash > 0 && parse_spoken_note(word.substr(0, dash)) &&
         parse_spoken_note(word.substr(dash + 1));
}

// Whether the words behind a note go on to others: "and D4", "to E4", "upwards".
bool goes_on(const Words& words, std::size_t at, Note bottom) {
  if (at >= words.size()) return false;
  static constexpr std::array<std::string_view, 8> beyond{"up",        "upwards",  "upward",  "down",
                                                          "downwards", "downward", "onwards", "octave"};
  const std::string first = lower(words[at]);
  if (std::ranges::find(beyond, first) != beyond.end() || is_stretch(words[at]) || note_at(words, at, bottom))
    return true;
  return (first == "and" || first == "to" || first == "&" || first == "-" || first == "–") && at + 1 < words.size() &&
         note_at(words, at + 1, bottom);
}

tl::unexpected<Error> refused(std::string message) { return fail(std::move(message), "fault"); }

tl::unexpected<Error> no_such_name(const Words& words, const std::vector<Name>& names) {
  std::size_t n = 1;
  while (n < words.size() && !note_at(words, n, Note{36})) ++n;
  const std::string head = joined(words, 0, n == words.size() ? 1 : n);
  std::vector<std::string> known;
  for (const Name& name : names) known.push_back(lower(name.text));
  const auto near = nearest(lower(head), known);
  return refused(fmt::format("no stop or division is called \"{}\"{}", head,
                             near.empty() ? "" : fmt::format("; the nearest is \"{}\"", near)));
}

// "Swell Trombone dead" is no fault of the whole Swell where it has no Trombone. A word of what was heard may be a
// stop's name as well: "octave", "sharp".
Result<void> no_unknown_stop(const Organ& organ, DivisionIndex division, const Words& said,
                             const std::vector<Name>& names) {
  const std::string& first = said.front();
  const bool a_symptom = std::ranges::any_of(signs, [&](const Sign& s) {
    const Words words = words_of(s.words);
    return std::ranges::find(words, lower(first)) != words.end();
  });
  std::vector<std::string> known;
  for (const Name& n : names)
    if (n.division == division && n.stop) known.push_back(organ.stops[static_cast<std::size_t>(*n.stop)].name);
  const bool nearly = first.size() >= 6 && !nearest(first, known).empty();  // shorter ones are near to anything: "box"
  if (a_symptom || (!names_a_stop(first) && !nearly)) return {};
  return refused(fmt::format("the {} has no stop called \"{}\"{}",
                             organ.divisions[static_cast<std::size_t>(division)].name, first, perhaps(first, known)));
}

// What was heard, in `said`; when, where it begins like a time ("in the cold").
Result<void> lay_on_heard(const std::string& said, BookFault& f) {
  const Heard heard = heard_in(said);
  f.kind = heard.kind;
  f.words = said;
  if (f.kind == FaultKind::other) {
    std::vector<std::string> known;
    for (const Sign& s : signs) known.emplace_back(s.words);
    const std::string near = said.find(' ') == std::string::npos ? nearest(lower(said), known) : "";
    if (!near.empty()) return refused(fmt::format("\"{}\" is not understood; perhaps \"{}\"", said, near));
    return {};
  }
  for (const std::string& word : words_of(said.substr(0, heard.at))) {
    const std::string low = lower(word);
    if (low == "not" || low == "no" || low == "never" || low == "longer")
      return refused(fmt::format("\"{}\" is no fault; one that is mended is closed by its number: fault close", said));
    if (f.key || says_nothing_more(word)) continue;
    return refused(fmt::format(
        "\"{}\" before \"{}\" is not understood; a note is written C4, F#2, tenor C, CC or key 25, and none is "
        "written where the whole stop is meant",
        word, said.substr(heard.at)));
  }
  const std::string behind{trimmed(std::string_view{said}.substr(heard.end))};
  static constexpr std::array<std::string_view, 14> times{
      "in", "when", "after", "at", "if", "on", "now", "until", "during", "every", "while", "for", "sometimes", "from"};
  if (const Words words = words_of(behind); !words.empty() && std::ranges::find(times, lower(words[0])) != times.end())
    f.when = behind;
  return {};
}

}  // namespace

Result<BookFault> parse_fault(const Organ& organ, std::string_view line) {
  Words words = words_of(line);
  if (words.empty() || line.size() > 500)
    return refused(
        "a fault is one line: division and stop, the note, and what was heard, like \"Pedal Bourdon F#2 dead\"");
  const std::vector<Name> names = names_of(organ);
  const Named found = named_by(words, names);
  if (found.names.empty()) return no_such_name(words, names);
  if (found.names.size() > 1) {
    std::string both;
    for (const Name& n : found.names)
      both += (both.empty() ? "" : " or ") + organ.divisions[static_cast<std::size_t>(n.division)].name +
              (n.stop ? " " + full_name(organ.stops[static_cast<std::size_t>(*n.stop)]) : "");
    return refused(fmt::format("\"{}\" may be {}; put the division before it", joined(words, 0, found.words), both));
  }
  const Name& name = found.names.front();
  const Division& division = organ.divisions[static_cast<std::size_t>(name.division)];
  words.erase(words.begin(), words.begin() + static_cast<std::ptrdiff_t>(found.words));

  BookFault f;
  f.division = division.id;
  if (name.stop) {
    f.stop = organ.stops[static_cast<std::size_t>(*name.stop)].id;
    const auto place = first_note(words, 0, division.low);
    if (std::ranges::any_of(words, is_stretch) || (place && goes_on(words, place->at + place->words, division.low)))
      return refused("a fault is of one note, or of the whole stop; write a line for each note");
    if (place) {
      if (const auto pipe = lay_on_pipe(organ, *name.stop, place->note, f); !pipe) return tl::unexpected(pipe.error());
      std::size_t from = place->at;
      if (from > 0 && (lower(words[from - 1]) == "at" || lower(words[from - 1]) == "on")) --from;
      words.erase(words.begin() + static_cast<std::ptrdiff_t>(from),
                  words.begin() + static_cast<std::ptrdiff_t>(place->at + place->words));
    }
  }
  if (words.empty())
    return refused("what was heard? Put it at the end: dead, ciphers, late, slow, flat, out of use ...");
  if (!name.stop) {
    if (first_note(words, 0, division.low)) return refused("a note is of a stop; say which");
    if (const auto right = no_unknown_stop(organ, name.division, words, names); !right)
      return tl::unexpected(right.error());
  }
  if (const auto heard = lay_on_heard(joined(words, 0, words.size()), f); !heard) return tl::unexpected(heard.error());
  return f;
}

}  // namespace calcant
