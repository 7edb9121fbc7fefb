#include "engine/score/lines.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <limits>
#include <map>
#include <numeric>

namespace calcant {
namespace {

struct Place {
  int bar = 0;
  Rational at;
  friend std::strong_ordering operator<=>(const Place& a, const Place& b) {
    if (a.bar != b.bar) return a.bar <=> b.bar;
    return a.at <=> b.at;
  }
};
using Ends = std::map<Place, std::string>;  // with how each is known

// The end of a note, in a bar that has it: a note that ends with its bar ends there.
Place end_of(const WrittenNote& n) { return {n.bar, n.at + n.length}; }

// Whether all that is left of the score behind a place is silence.
bool is_end(const Score& s, const Place& p) {
  for (auto n = s.notes.rbegin(); n != s.notes.rend(); ++n) {
    if (n->bar < p.bar) break;
    if (!n->cue && (n->bar > p.bar || n->at >= p.at)) return false;
  }
  return true;
}

int melody_stave(const Score& s) {
  for (std::size_t i = 0; i < s.staves.size(); ++i) {
    if (s.staves[i].role != Role::not_played) return static_cast<int>(i);
  }
  return s.staves.empty() ? -1 : 0;
}

// One note of the tune with its place and, slurs counted as one, whether a syllable begins on it.
struct TuneNote {
  Place begin;
  Place end;
  Rational start;   // written quarters
  Rational length;  // the time to the next syllable is worked out from starts
  int midi = 0;
};

// The highest note at each onset of the upper stave, slurred and tied ones drawn together.
std::vector<TuneNote> tune(const Score& s) {
  std::vector<TuneNote> out;
  const int stave = melody_stave(s);
  const bool sung =
      std::any_of(s.notes.begin(), s.notes.end(), [&](const WrittenNote& n) { return n.stave == stave && n.syllable; });
  std::map<Rational, const WrittenNote*> top;
  for (const WrittenNote& n : s.notes) {
    if (n.stave != stave || n.cue || n.length == Rational{}) continue;
    const WrittenNote*& best = top[written(s, n.bar, n.at)];
    if (best == nullptr || n.note > best->note) best = &n;
  }
  int slurs = 0;
  Rational covered;
  for (const auto& [start, n] : top) {
    // An alto that moves under a held tune is no syllable.
    if (!out.empty() && start < covered && n->note.midi < out.back().midi) continue;
    const bool goes_on = n->tie_from || slurs > 0 || (sung && !n->syllable && !out.empty());
    slurs = std::max(0, slurs + n->slur_starts - n->slur_ends);
    covered = start + n->length;
    if (goes_on && !out.empty()) {
      out.back().end = end_of(*n);
      out.back().length = covered - out.back().start;
      continue;
    }
    out.push_back({{n->bar, n->at}, end_of(*n), start, n->length, n->note.midi});
  }
  return out;
}

// Best division of the tune into lines of about these lengths, ending on long notes: least cost over all divisions.
// Nothing when the notes and the metre are too far apart.
std::optional<std::vector<std::size_t>> divide(const std::vector<TuneNote>& notes, const std::vector<int>& metre,
                                               bool exact) {
  const std::size_t n = notes.size();
  const std::size_t lines = metre.size();
  if (n < lines || n > 2000) return std::nullopt;
  constexpr double never = std::numeric_limits<double>::infinity();
  const auto slack = [&](int syllables) { return exact ? 0 : std::max(2, syllables / 2); };
  double usual = 0;
  for (const TuneNote& t : notes) usual += t.length.to_double();
  usual /= static_cast<double>(n);
  std::vector<std::vector<double>> cost(lines + 1, std::vector<double>(n + 1, never));
  std::vector<std::vector<std::size_t>> from(lines + 1, std::vector<std::size_t>(n + 1, 0));
  cost[0][0] = 0;
  for (std::size_t l = 0; l < lines; ++l) {
    for (std::size_t i = 0; i < n; ++i) {
      if (cost[l][i] == never) continue;
      const int least = std::max(1, metre[l] - slack(metre[l]));
      for (int k = least; k <= metre[l] + slack(metre[l]); ++k) {
        const std::size_t end = i + static_cast<std::size_t>(k);
        if (end > n) break;
        // Fewer notes than syllables cost more than more notes (a syllable may have several); a long last note, and
        // lines of about equal time, are what singers expect.
        const int off = k - metre[l];
        const double length = notes[end - 1].length.to_double() / usual;
        const double now = cost[l][i] + (off < 0 ? -2.0 * off : 1.0 * off) - std::min(length, 2.0);
        if (now < cost[l + 1][end]) {
          cost[l + 1][end] = now;
          from[l + 1][end] = i;
        }
      }
    }
  }
  if (cost[lines][n] == never) return std::nullopt;
  std::vector<std::size_t> ends(lines);
  std::size_t at = n;
  for (std::size_t l = lines; l > 0; --l) {
    ends[l - 1] = at;
    at = from[l][at];
  }
  return ends;
}

bool by_breaths(const Score& s, Ends& ends) {
  for (const Direction& d : s.directions) {
    if (d.kind == Direction::Kind::breath && !is_end(s, {d.bar, d.at})) ends[{d.bar, d.at}] = "breath mark";
  }
  return !ends.empty();
}

void by_pauses(const Score& s, Ends& ends) {
  // The pause of the tune counts; where the tune has none at that chord, that of the note that ends last.
  std::map<Place, Place> by_onset;
  const int stave = melody_stave(s);
  std::map<Place, bool> of_tune;
  for (const WrittenNote& n : s.notes) {
    if (!n.fermata || n.cue) continue;
    const Place onset{n.bar, n.at};
    auto [it, fresh] = by_onset.try_emplace(onset, end_of(n));
    if (n.stave == stave && !of_tune[onset]) it->second = end_of(n);
    else if (!of_tune[onset]) it->second = std::max(it->second, end_of(n));
    of_tune[onset] = of_tune[onset] || n.stave == stave;
  }
  // Lower parts that pause a little earlier or later than the tune in the same bar belong to its pause.
  for (const auto& [onset, end] : by_onset) {
    if (!of_tune[onset]) {
      const bool shared = std::any_of(by_onset.begin(), by_onset.end(), [&](const auto& other) {
        return of_tune[other.first] && other.first.bar == onset.bar && !(other.second < onset) && !(end < other.first);
      });
      if (shared) continue;
    }
    ends[end] = "pause";
  }
  for (const Direction& d : s.directions) {
    if (d.kind == Direction::Kind::pause) ends[{d.bar, d.at}] = "pause";
  }
  if (!s.hymn && ends.size() < 3) ends.clear();
  std::erase_if(ends, [&](const auto& e) { return is_end(s, e.first); });
}

bool by_metre(const Score& s, const std::vector<int>& metre, bool exact, const std::string& why, Ends& ends) {
  const std::vector<TuneNote> notes = tune(s);
  const auto division = divide(notes, metre, exact);
  if (!division) return false;
  for (std::size_t l = 0; l + 1 < division->size(); ++l) ends[notes[(*division)[l] - 1].end] = why;
  return true;
}

void by_bars_and_rests(const Score& s, Ends& ends) {
  for (std::size_t b = 0; b + 1 < s.bars.size(); ++b) {
    if (s.bars[b].double_bar_after) ends[{static_cast<int>(b), s.bars[b].length}] = "double bar";
  }
  Rational sounding;
  Place last{-1, {}};
  for (const WrittenNote& n : s.notes) {
    if (n.cue || n.length == Rational{}) continue;
    const Rational start = written(s, n.bar, n.at);
    if (last.bar >= 0 && start > sounding) ends[last] = "rest";
    if (start + n.length >= sounding) {
      sounding = start + n.length;
      last = end_of(n);
    }
  }
}

struct Common {
  std::string_view name;
  std::vector<int> lines;
};

const std::vector<Common>& common_metres() {
  static const std::vector<Common> all{{"CM", {8, 6, 8, 6}},
                                       {"LM", {8, 8, 8, 8}},
                                       {"SM", {6, 6, 8, 6}},
                                       {"CMD", {8, 6, 8, 6, 8, 6, 8, 6}},
                                       {"LMD", {8, 8, 8, 8, 8, 8, 8, 8}},
                                       {"SMD", {6, 6, 8, 6, 6, 6, 8, 6}},
                                       {"8.7.8.7", {8, 7, 8, 7}},
                                       {"8.7.8.7 D", {8, 7, 8, 7, 8, 7, 8, 7}},
                                       {"7.7.7.7", {7, 7, 7, 7}},
                                       {"8.7.8.7.8.7", {8, 7, 8, 7, 8, 7}},
                                       {"7.6.7.6 D", {7, 6, 7, 6, 7, 6, 7, 6}},
                                       {"6.6.6.6.8.8", {6, 6, 6, 6, 8, 8}},
                                       {"10.10.10.10", {10, 10, 10, 10}},
                                       {"8.8.8.8.8.8", {8, 8, 8, 8, 8, 8}},
                                       {"6.7.6.7.6.6.6.6", {6, 7, 6, 7, 6, 6, 6, 6}}};
  return all;
}

// Where in its bar a place lies, counted from the bar's end: a pick-up of one beat is where a full bar's last beat is.
Rational before_barline(const Score& s, const Place& p) {
  return s.bars[static_cast<std::size_t>(p.bar)].length - p.at;
}

// Whether every line begins at the same place of a bar as the first.
bool lines_begin_alike(const Score& s, const std::vector<TuneNote>& notes, const std::vector<int>& metre) {
  std::size_t at = 0;
  for (const int syllables : metre) {
    if (before_barline(s, notes[at].begin) != before_barline(s, notes.front().begin)) return false;
    at += static_cast<std::size_t>(syllables);
  }
  return true;
}

// Whether every line ends on a note clearly longer than the usual one. `ends`: how many notes there are up to each end.
bool lines_end_long(const std::vector<TuneNote>& notes, const std::vector<std::size_t>& ends) {
  double usual = 0;
  for (const TuneNote& n : notes) usual += n.length.to_double();
  usual /= static_cast<double>(notes.size());
  return std::all_of(ends.begin(), ends.end(),
                     [&](std::size_t end) { return notes[end - 1].length.to_double() >= 1.3 * usual; });
}

// The common metre whose syllables are exactly the notes and whose lines begin alike in the bar, or all end on long
// notes; failing that, one with a syllable or two fewer than the tune has notes, if its lines all end on long notes. Where
// two metres do, nothing is told.
bool by_common_metre(const Score& s, Ends& ends) {
  const std::vector<TuneNote> notes = tune(s);
  if (notes.empty()) return false;
  for (const bool exact : {true, false}) {
    const Common* found = nullptr;
    for (const Common& c : common_metres()) {
      const int syllables = std::accumulate(c.lines.begin(), c.lines.end(), 0);
      const int surplus = static_cast<int>(notes.size()) - syllables;
      if (exact ? surplus != 0 : surplus < 1 || surplus > 2) continue;
      const auto division = divide(notes, c.lines, exact);
      if (!division) continue;
      if (!lines_end_long(notes, *division) && !(exact && lines_begin_alike(s, notes, c.lines))) continue;
      if (found != nullptr) return false;
      found = &c;
    }
    if (found == nullptr) continue;
    return by_metre(s, found->lines, exact, fmt::format("the notes {} {}", exact ? "fit" : "nearly fit", found->name),
                    ends);
  }
  return false;
}

}  // namespace

Result<std::vector<int>> parse_metre(std::string_view text) {
  const auto bad = [&] {
    return fail(fmt::format("\"{}\" is no metre; write it like 8.6.8.6, 87 87 D, CM, LM or SM", text));
  };
  std::string plain;
  for (const char c : text) {
    if (c != ' ' || (!plain.empty() && plain.back() != ' '))
      plain += static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  }
  while (!plain.empty() && (plain.back() == ' ' || plain.back() == '.')) plain.pop_back();
  bool doubled = false;
  if (!plain.empty() && plain.back() == 'D') {
    doubled = true;
    plain.pop_back();
    while (!plain.empty() && (plain.back() == ' ' || plain.back() == '.')) plain.pop_back();
  }
  std::string letters;
  for (const char c : plain) {
    if (c != '.' && c != ' ') letters += c;
  }
  std::vector<int> lines;
  if (letters == "CM") lines = {8, 6, 8, 6};
  else if (letters == "LM") lines = {8, 8, 8, 8};
  else if (letters == "SM") lines = {6, 6, 8, 6};
  else {
    // Dots part numbers ("10.10"); without dots each digit is a line ("87 87").
    const bool dots = plain.find_first_of(".,") != std::string::npos;
    int number = -1;
    for (const char c : plain + ".") {
      const bool digit = c >= '0' && c <= '9';
      if (!digit && c != '.' && c != ' ' && c != ',') return bad();
      if (digit && number < 100) number = (number < 0 ? 0 : number * 10) + (c - '0');
      if (number >= 0 && (!digit || !dots)) {
        lines.push_back(number);
        number = -1;
      }
    }
  }
  if (doubled) {
    const std::vector<int> once = lines;
    lines.insert(lines.end(), once.begin(), once.end());
  }
  const bool sane = std::all_of(lines.begin(), lines.end(), [](int l) { return l >= 1 && l <= 30; });
  if (lines.empty() || lines.size() > 24 || !sane) return bad();
  return lines;
}

bool looks_like_hymn(const Score& s) {
  std::vector<int> staves;
  for (std::size_t i = 0; i < s.staves.size(); ++i) {
    if (s.staves[i].role == Role::feet) return false;
    if (s.staves[i].role != Role::not_played) staves.push_back(static_cast<int>(i));
  }
  if ((staves.size() != 2 && staves.size() != 4) || s.bars.size() > 64) return false;
  // How many notes begin together, and how many keys are down, at each onset.
  std::map<Rational, int> struck;
  std::vector<std::pair<Rational, int>> changes;
  for (const WrittenNote& n : s.notes) {
    if (n.cue || n.length == Rational{}) continue;
    const Rational start = written(s, n.bar, n.at);
    ++struck[start];
    changes.emplace_back(start, 1);
    changes.emplace_back(start + n.length, -1);
  }
  if (struck.size() < 8) return false;
  std::sort(changes.begin(), changes.end(),
            [](const auto& a, const auto& b) { return a.first != b.first ? a.first < b.first : a.second < b.second; });
  int down = 0;
  std::size_t full = 0;
  std::size_t together = 0;
  auto change = changes.begin();
  for (const auto& [at, count] : struck) {
    for (; change != changes.end() && change->first <= at; ++change) down += change->second;
    full += down >= 3 && down <= 5;
    together += count >= 3;
  }
  return full * 10 >= struck.size() * 8 && together * 2 >= struck.size();
}

void find_lines(Score& s, const std::vector<int>& metre) {
  std::erase_if(s.directions, [](const Direction& d) { return d.kind == Direction::Kind::line_end; });
  const std::string unknown = "The lines of this hymn are not marked; give its metre to have them found.";
  std::erase(s.remarks, unknown);
  Ends ends;
  by_pauses(s, ends);
  if (s.hymn) {
    if (ends.empty()) by_breaths(s, ends);
    if (!metre.empty()) {
      Ends counted;
      std::string printed;
      for (const int l : metre) printed += fmt::format("{}{}", printed.empty() ? "" : ".", l);
      if (ends.size() + 1 != metre.size() && by_metre(s, metre, false, "metre " + printed, counted)) ends = counted;
    }
    if (ends.empty()) {
      Ends bars;
      by_bars_and_rests(s, bars);
      // One or two in a whole hymn part its halves, not its lines.
      if (bars.size() >= 3) ends = bars;
      else if (!by_common_metre(s, ends)) ends = bars;
    }
    if (ends.empty()) s.remarks.push_back(unknown);
  }
  if (ends.empty()) return;
  if (!s.notes.empty()) {
    Place last{0, {}};
    for (const WrittenNote& n : s.notes) last = std::max(last, end_of(n));
    ends[last] = "end of the music";
  }
  for (const auto& [place, why] : ends) {
    Direction d;
    d.kind = Direction::Kind::line_end;
    d.bar = place.bar;
    d.at = place.at;
    d.text = why;
    s.directions.push_back(std::move(d));
  }
  std::stable_sort(s.directions.begin(), s.directions.end(),
                   [](const Direction& a, const Direction& b) { return a.bar != b.bar ? a.bar < b.bar : a.at < b.at; });
}

std::vector<Rational> line_ends(const Score& s) {
  std::vector<const Direction*> ends;
  for (const Direction& d : s.directions) {
    if (d.kind == Direction::Kind::line_end) ends.push_back(&d);
  }
  std::vector<Rational> out;
  if (ends.empty()) return out;
  for (const Turn& turn : s.turns) {
    const auto first =
        std::lower_bound(ends.begin(), ends.end(), turn.bar, [](const Direction* d, int bar) { return d->bar < bar; });
    for (auto d = first; d != ends.end() && (*d)->bar == turn.bar; ++d) out.push_back(turn.start + (*d)->at);
  }
  return out;
}

}  // namespace calcant
