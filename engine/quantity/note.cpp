#include "engine/quantity/note.hpp"

#include <fmt/format.h>

#include <array>
#include <cctype>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <optional>

#include "engine/quantity/typed.hpp"

namespace calcant {
namespace {

constexpr std::array<std::string_view, 12> letters{"C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"};

std::string scientific(Note n) { return fmt::format("{}{}", letters[n.midi % 12], n.midi / 12 - 1); }

// Helmholtz: C2 is C, C3 is c, C4 is c1; below C the capital is written with a stroke count, here C1, C2.
std::string helmholtz(Note n) {
  const int octave = n.midi / 12 - 1;
  std::string letter{letters[n.midi % 12]};
  if (octave < 2) return octave == 2 ? letter : letter + fmt::format("{}", 2 - octave);
  if (octave == 2) return letter;
  letter[0] = static_cast<char>(std::tolower(static_cast<unsigned char>(letter[0])));
  return octave == 3 ? letter : letter + fmt::format("{}", octave - 3);
}

// English organ-builders' words, after the octaves of the manual: CC, tenor C, middle C, treble C, C in alt.
std::string english(Note n) {
  const int octave = n.midi / 12 - 1;
  const std::string_view written = letters[n.midi % 12];
  const char letter = written[0];
  const std::string sharp = written.size() > 1 ? " sharp" : "";
  switch (octave) {
    case 1: return fmt::format("{0}{0}{0}{1}", letter, sharp);
    case 2: return fmt::format("{0}{0}{1}", letter, sharp);
    case 3: return fmt::format("tenor {}{}", letter, sharp);
    case 4: return fmt::format("middle {}{}", letter, sharp);
    case 5: return fmt::format("treble {}{}", letter, sharp);
    case 6: return fmt::format("{}{} in alt", letter, sharp);
    case 7: return fmt::format("{}{} in altissimo", letter, sharp);
    default: return scientific(n);
  }
}

bool whole_number(std::string_view text, std::int64_t& out) {
  const auto [end, ec] = std::from_chars(text.data(), text.data() + text.size(), out);
  return ec == std::errc{} && end == text.data() + text.size() && !text.empty();
}

void replace_all(std::string& s, std::string_view from, std::string_view to) {
  for (std::size_t at = 0; (at = s.find(from, at)) != std::string::npos; at += to.size()) {
    s.replace(at, from.size(), to);
  }
}

}  // namespace

std::string name(Note n, NoteStyle style) {
  if (n.midi < 0 || n.midi > highest_midi) return "?";
  switch (style) {
    case NoteStyle::helmholtz: return helmholtz(n);
    case NoteStyle::english: return english(n);
    case NoteStyle::scientific: break;
  }
  return scientific(n);
}

Result<Note> parse_note(std::string_view text) {
  const auto bad = [&] {
    return fail(
        fmt::format("\"{}\" is no note; write a letter, # or b, and the octave, as C4 for middle C or F#2", text));
  };
  const std::string_view t = trimmed(text);
  if (t.size() < 2) return bad();
  constexpr std::array<int, 7> semitone{9, 11, 0, 2, 4, 5, 7};  // a to g
  const char letter = static_cast<char>(std::tolower(static_cast<unsigned char>(t[0])));
  if (letter < 'a' || letter > 'g') return bad();
  std::size_t at = 1;
  int alter = 0;
  for (; at < t.size() && (t[at] == '#' || t[at] == 'b'); ++at) alter += t[at] == '#' ? 1 : -1;
  std::int64_t octave = 0;
  if (std::abs(alter) > 2 || !whole_number(t.substr(at), octave) || octave < -1 || octave > 9) return bad();
  const int midi = static_cast<int>((octave + 1) * 12) + semitone[static_cast<std::size_t>(letter - 'a')] + alter;
  if (midi < 0 || midi > highest_midi) return bad();
  return Note{midi};
}

Result<Note> parse_spoken_note(std::string_view text) {
  // One word after another is taken off: the octave's name, the letter, what alters it, the octave after it.
  std::string t{trimmed(text)};
  for (const auto& [sign, plain] : {std::pair{"♯", "#"}, {"♭", "b"}, {"′", "'"}, {"’", "'"}, {"″", "''"}})
    replace_all(t, sign, plain);
  const auto bad = [&] {
    return fail(fmt::format("\"{}\" is no note; write C4 for middle C, F#2, tenor C, CC or c'", text));
  };
  if (auto plain = parse_note(t)) return plain;
  std::string_view s = t;
  const auto takes = [&](std::string_view word) {
    if (lower(s.substr(0, word.size())) != word) return false;
    if (s.size() > word.size() && std::isalpha(static_cast<unsigned char>(s[word.size()])) != 0) return false;
    s = trimmed(s.substr(word.size()));
    return true;
  };
  std::optional<int> octave;
  for (const auto& [word, n] : {std::pair{"bottom", 2}, {"tenor", 3}, {"middle", 4}, {"treble", 5}})
    if (!octave && takes(word)) octave = n;
  const char letter = s.empty() ? ' ' : s[0];
  const bool capital = letter >= 'A' && letter <= 'G';
  if (!capital && (letter < 'a' || letter > 'g')) return bad();
  std::size_t times = 1;
  while (capital && times < s.size() && s[times] == letter) ++times;
  if (times > 3 || (times > 1 && octave)) return bad();
  if (times > 1) octave = 4 - static_cast<int>(times);  // CC is the manuals' bottom key, CCC an octave below
  s = trimmed(s.substr(times));
  std::string key{letter};
  if (!s.empty() && (s[0] == '#' || s[0] == 'b')) {
    key += s[0];
    s = s.substr(1);
  } else if (takes("sharp")) {
    key += '#';
  } else if (takes("flat")) {
    key += 'b';
  }
  s = trimmed(s);
  if (!octave && takes("in altissimo")) octave = 7;
  if (!octave && takes("in alt")) octave = 6;
  if (!octave && !capital && !s.empty() && s.find_first_not_of('\'') == std::string_view::npos && s.size() <= 5) {
    octave = 3 + static_cast<int>(s.size());
    s = {};
  }
  std::int64_t written = 0;
  if (!octave && whole_number(s, written) && written >= -1 && written <= 9) {
    octave = static_cast<int>(written);
    s = {};
  }
  if (!octave || !s.empty()) return bad();
  const auto note = parse_note(fmt::format("{}{}", key, *octave));
  if (!note) return bad();
  return note;
}

int Feet::semitones() const { return static_cast<int>(std::lround(12.0 * std::log2(harmonic().to_double()))); }

bool Feet::is_octave() const {
  const Rational h = harmonic();
  const auto power_of_two = [](std::int64_t v) { return v > 0 && (v & (v - 1)) == 0; };
  return power_of_two(h.num()) && power_of_two(h.den());
}

std::string to_string(Feet f) {
  const std::int64_t whole = f.length().num() / f.length().den();
  const std::int64_t rest = f.length().num() % f.length().den();
  if (rest == 0) return fmt::format("{}", whole);
  if (whole == 0) return fmt::format("{}/{}", rest, f.length().den());
  return fmt::format("{} {}/{}", whole, rest, f.length().den());
}

Result<Feet> parse_feet(std::string_view text) {
  const auto bad = [&] {
    return fail(fmt::format("\"{}\" is no length of a stop; write feet like 8, 4, 2 2/3 or 16", text));
  };
  std::string t{trimmed(text)};
  for (const auto& [glyph, plain] : {std::pair{"½", " 1/2"},
                                     {"⅓", " 1/3"},
                                     {"⅔", " 2/3"},
                                     {"¼", " 1/4"},
                                     {"¾", " 3/4"},
                                     {"⅕", " 1/5"},
                                     {"⅖", " 2/5"},
                                     {"⅗", " 3/5"},
                                     {"⅘", " 4/5"},
                                     {"⅐", " 1/7"},
                                     {"⅛", " 1/8"},
                                     {"′", "'"},
                                     {"’", "'"},
                                     {"⁄", "/"}}) {
    replace_all(t, glyph, plain);
  }
  std::string_view s = trimmed(t);
  for (const std::string_view unit : {"feet", "foot", "ft.", "ft", "'"}) {
    if (s.size() > unit.size() && s.ends_with(unit)) {
      s = trimmed(s.substr(0, s.size() - unit.size()));
      break;
    }
  }
  std::int64_t whole = 0;
  Rational length;
  const std::size_t gap = s.find_first_of(" -");
  if (gap != std::string_view::npos) {
    if (!whole_number(s.substr(0, gap), whole) || whole < 0 || whole > 64) return bad();
    const Result<Rational> part = parse_rational(trimmed(s.substr(gap + 1)));
    if (!part || *part <= Rational{0} || *part >= Rational{1}) return bad();
    length = Rational{whole} + *part;
  } else {
    const Result<Rational> all = parse_rational(s);
    if (!all) return bad();
    length = *all;
  }
  if (length < Rational{1, 8} || length > Rational{64} || length.den() > 16) return bad();
  return Feet{length};
}

}  // namespace calcant
