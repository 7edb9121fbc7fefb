#include "files/specification/trade.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <utility>

namespace calcant::trade {
namespace {

struct Row {
  std::string_view word;  // found anywhere in the folded name; the first row that fits is taken
  Kind kind;
};

// family, form, material, half-tones (reference: deviations of common stops at middle C), mouth, cut-up, dB, feet.
constexpr std::string_view pr = "principal", fl = "flute", st = "string", re = "reed";
constexpr std::string_view full = "reed, full length", half = "reed, half length", shrt = "reed, short";
constexpr std::array rows{
    // Reeds, before the flues whose names they contain. The model's reed is a mild Swell oboe; what the others stand over
    // it is assumed, no source (docs/accuracy/pipe.md).
    Row{"orchestral oboe", {re, full, "metal", 0, .25, .25, -2, "8", true, false, true}},
    Row{"oboe", {re, full, "metal", 0, .25, .25, 0, "8", true, false, true}},
    Row{"hautboy", {re, full, "metal", 0, .25, .25, 0, "8", true, false, true}},
    Row{"cornopean", {re, full, "metal", 0, .25, .25, 5, "8", true, false, false}},
    Row{"trumpet", {re, full, "metal", 0, .25, .25, 6, "8", true, false, false}},
    Row{"clarion", {re, full, "metal", 0, .25, .25, 5, "4", true, false, false}},
    Row{"tuba", {re, full, "metal", 0, .25, .25, 9, "8", true, false, true}},
    Row{"clarinet", {re, half, "metal", 0, .25, .25, -1, "8", true, false, true}},
    Row{"clarionet", {re, half, "metal", 0, .25, .25, -1, "8", true, false, true}},
    Row{"cremona", {re, half, "metal", 0, .25, .25, -1, "8", true, false, true}},
    Row{"krummhorn", {re, half, "metal", 0, .25, .25, -1, "8", true, false, true}},
    Row{"bassetto", {re, half, "metal", 0, .25, .25, -1, "8", true, false, true}},
    Row{"vox humana", {re, shrt, "metal", 0, .25, .25, -4, "8", true, false, true}},
    Row{"bassoon", {re, full, "metal", 0, .25, .25, 0, "16", true, false, false}},
    Row{"fagotto", {re, full, "metal", 0, .25, .25, 0, "16", true, false, false}},
    Row{"trombone", {re, full, "metal", 0, .25, .25, 6, "16", true, false, false}},
    Row{"posaune", {re, full, "metal", 0, .25, .25, 6, "8", true, false, false}},
    Row{"ophicleide", {re, full, "metal", 0, .25, .25, 7, "16", true, false, false}},
    Row{"bombarde", {re, full, "metal", 0, .25, .25, 7, "16", true, false, false}},
    // Undulating stops.
    Row{"celeste", {st, "open", "metal", -7, .22, .28, -2, "8", true, true, false}},
    Row{"vox angelica", {st, "open", "metal", -8, .22, .28, -4, "8", true, true, false}},
    Row{"unda maris", {st, "open", "metal", -7, .22, .28, -4, "8", true, true, false}},
    // Mixtures and mutations.
    Row{"sesquialtera", {pr, "open", "metal", -3, .25, .25, 0, "", true, false, false}},
    Row{"mixture", {pr, "open", "metal", -4, .25, .25, 0, "", true, false, false}},
    Row{"furniture", {pr, "open", "metal", -4, .25, .25, 0, "", true, false, false}},
    Row{"cymbal", {pr, "open", "metal", -4, .25, .25, 0, "", true, false, false}},
    Row{"sharp", {pr, "open", "metal", -4, .25, .25, 0, "", true, false, false}},
    Row{"cornet", {fl, "open", "metal", 3, .25, .28, 1, "", true, false, true}},
    Row{"nazard", {fl, "open", "metal", 3, .25, .3, -1, "2 2/3", true, false, false}},
    Row{"nasard", {fl, "open", "metal", 3, .25, .3, -1, "2 2/3", true, false, false}},
    Row{"tierce", {fl, "open", "metal", 2, .25, .28, -1, "1 3/5", true, false, false}},
    Row{"seventeenth", {pr, "open", "metal", -3, .25, .25, -2, "1 3/5", true, false, false}},
    Row{"larigot", {fl, "open", "metal", 2, .25, .28, -1, "1 1/3", true, false, false}},
    Row{"nineteenth", {pr, "open", "metal", -3, .25, .25, -1, "1 1/3", true, false, false}},
    Row{"twenty second", {pr, "open", "metal", -3, .25, .25, -1, "1", true, false, false}},
    Row{"super octave", {pr, "open", "metal", -2, .25, .25, 0, "2", true, false, false}},
    Row{"twelfth", {pr, "open", "metal", -3, .25, .25, -2, "2 2/3", true, false, false}},
    Row{"fifteenth", {pr, "open", "metal", -2, .25, .25, 0, "2", true, false, false}},
    Row{"quint", {fl, "stopped", "wood", 0, .25, .36, -2, "5 1/3", true, false, false}},
    // Stopped flutes.
    Row{"quintaton", {fl, "stopped", "metal", -2, .25, .22, -1, "16", true, false, false}},
    Row{"rohr", {fl, "chimney", "metal", 4, .25, .34, -1, "8", true, false, false}},
    Row{"chimney", {fl, "chimney", "metal", 4, .25, .34, -1, "8", true, false, false}},
    Row{"stopped diapason", {fl, "stopped", "wood", 0, .25, .36, -1, "8", true, false, false}},
    Row{"stop diapason", {fl, "stopped", "wood", 0, .25, .36, -1, "8", true, false, false}},
    Row{"st diapason", {fl, "stopped", "wood", 0, .25, .36, -1, "8", true, false, false}},
    Row{"stopped", {fl, "stopped", "wood", 0, .25, .36, -1, "8", true, false, false}},
    Row{"lieblich bourdon", {fl, "stopped", "wood", -1, .25, .36, -2, "16", true, false, false}},
    Row{"bourdon", {fl, "stopped", "wood", 0, .25, .36, 0, "16", true, false, false}},
    Row{"sub bass", {fl, "stopped", "wood", 0, .25, .36, 0, "16", true, false, false}},
    Row{"subbass", {fl, "stopped", "wood", 0, .25, .36, 0, "16", true, false, false}},
    Row{"echo bass", {fl, "stopped", "wood", -2, .25, .36, -4, "16", true, false, false}},
    Row{"gedackt", {fl, "stopped", "metal", 3, .25, .36, -1, "8", true, false, false}},
    Row{"gedeckt", {fl, "stopped", "metal", 3, .25, .36, -1, "8", true, false, false}},
    Row{"gedact", {fl, "stopped", "metal", 3, .25, .36, -1, "8", true, false, false}},
    Row{"lieblich", {fl, "stopped", "metal", 3, .25, .36, -1, "8", true, false, false}},
    // Open flutes.
    Row{"harmonic flute", {fl, "harmonic", "metal", 2, .25, .3, 0, "4", true, false, true}},
    Row{"harmonic piccolo", {fl, "harmonic", "metal", 2, .25, .3, 0, "2", true, false, false}},
    Row{"clarabella", {fl, "open", "wood", 3, .25, .33, -1, "8", true, false, false}},
    Row{"claribel", {fl, "open", "wood", 5, .25, .33, 0, "8", true, false, true}},
    Row{"hohl", {fl, "open", "wood", 5, .25, .33, 0, "8", true, false, false}},
    Row{"melodia", {fl, "open", "wood", 2, .25, .33, -1, "8", true, false, false}},
    Row{"wald", {fl, "open", "wood", 4, .25, .33, 0, "4", true, false, false}},
    Row{"suabe", {fl, "open", "wood", 3, .25, .33, -1, "4", true, false, false}},
    Row{"piccolo", {fl, "open", "metal", 1, .25, .28, 0, "2", true, false, false}},
    Row{"flautina", {fl, "open", "metal", -1, .25, .28, -1, "2", true, false, false}},
    Row{"flageolet", {fl, "open", "metal", 0, .25, .28, 0, "2", true, false, false}},
    Row{"bass flute", {fl, "stopped", "wood", 0, .25, .36, 0, "8", true, false, false}},
    Row{"flute", {fl, "open", "wood", 3, .25, .33, -1, "4", true, false, false}},
    Row{"flauto", {fl, "open", "wood", 3, .25, .33, -1, "4", true, false, false}},
    // Diapasons and their kin, before the strings whose names they contain.
    Row{"violin diapason", {pr, "open", "metal", -4, .22, .27, 0, "8", true, false, false}},
    Row{"geigen", {pr, "open", "metal", -4, .22, .27, 0, "8", true, false, false}},
    Row{"open wood", {pr, "open", "wood", 2, .25, .3, 2, "16", true, false, false}},
    Row{"double diapason", {pr, "open", "metal", -1, .25, .26, 0, "16", true, false, false}},
    Row{"diapason", {pr, "open", "metal", 0, .25, .26, 0, "8", true, false, false}},
    Row{"gemshorn", {pr, "tapered", "metal", -2, .22, .27, -1, "4", true, false, false}},
    Row{"spitz", {pr, "tapered", "metal", -2, .22, .27, -1, "8", true, false, false}},
    Row{"principal", {pr, "open", "metal", -1.5, .25, .25, 0, "4", true, false, false}},
    Row{"octave", {pr, "open", "metal", -1.5, .25, .25, 0, "4", true, false, false}},
    Row{"doublette", {pr, "open", "metal", -2, .25, .25, 0, "2", true, false, false}},
    // Strings.
    Row{"salicional", {st, "open", "metal", -7, .22, .28, -2, "8", true, false, false}},
    Row{"salicet", {st, "open", "metal", -7, .22, .28, -2, "4", true, false, false}},
    Row{"dulciana", {st, "open", "metal", -8, .2, .27, -4, "8", true, false, false}},
    Row{"dulcet", {st, "open", "metal", -8, .2, .27, -4, "4", true, false, false}},
    Row{"violone", {st, "open", "wood", -4, .22, .28, 1, "16", true, false, false}},
    Row{"cello", {st, "open", "metal", -6, .22, .28, 0, "8", true, false, false}},
    Row{"gamba", {st, "open", "metal", -8, .22, .28, 0, "8", true, false, true}},
    Row{"aeoline", {st, "open", "metal", -10, .2, .28, -6, "8", true, false, false}},
    Row{"keraulophon", {st, "open", "metal", -7, .22, .28, -2, "8", true, false, false}},
    Row{"viol", {st, "open", "metal", -9, .22, .28, -1, "8", true, false, false}},
    // Horns that are no gemshorn.
    Row{"horn", {re, full, "metal", 0, .25, .25, 3, "8", true, false, false}},
};

constexpr std::array<std::pair<int, std::pair<int, int>>, 12> intervals_in_feet{{
    {1, {8, 1}},
    {5, {16, 3}},
    {8, {4, 1}},
    {10, {16, 5}},
    {12, {8, 3}},
    {15, {2, 1}},
    {17, {8, 5}},
    {19, {4, 3}},
    {22, {1, 1}},
    {24, {4, 5}},
    {26, {2, 3}},
    {29, {1, 2}},
}};

}  // namespace

std::string folded(std::string_view name) {
  static constexpr std::array<std::pair<std::string_view, char>, 20> accents{{
      {"é", 'e'}, {"è", 'e'}, {"ê", 'e'}, {"ë", 'e'}, {"É", 'e'}, {"È", 'e'}, {"á", 'a'},
      {"à", 'a'}, {"â", 'a'}, {"ä", 'a'}, {"ö", 'o'}, {"ô", 'o'}, {"ó", 'o'}, {"ü", 'u'},
      {"û", 'u'}, {"ï", 'i'}, {"î", 'i'}, {"ç", 'c'}, {"ñ", 'n'}, {"Ö", 'o'},
  }};
  std::string out;
  for (std::size_t i = 0; i < name.size();) {
    char c = name[i];
    std::size_t length = 1;
    for (const auto& [accent, plain] : accents) {
      if (name.compare(i, accent.size(), accent) == 0) {
        c = plain;
        length = accent.size();
      }
    }
    i += length;
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    const bool letter = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
    if (letter) out += c;
    else if (c != '\'' && !out.empty() && out.back() != ' ') out += ' ';
  }
  while (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

Kind kind_of(std::string_view name, bool pedal) {
  const std::string f = folded(name);
  for (const Row& row : rows) {
    if (f.find(row.word) == std::string::npos) continue;
    Kind k = row.kind;
    if (pedal) {
      // On the pedal the same names stand an octave lower, and a great Open Diapason is of wood.
      if (row.word == "diapason") {
        k.material = f.find("metal") == std::string::npos ? "wood" : "metal";
        k.half_tones = 2;
      }
      if (k.feet == "8" && row.word != "bass flute" && row.word != "cello") k.feet = "16";
      else if (row.word == "principal" || row.word == "octave" || row.word == "flute") k.feet = "8";
      else if (row.word == "fifteenth") k.feet = "4";
      else if (row.word == "quint") k.feet = "10 2/3";
    }
    return k;
  }
  return {pr, "open", "metal", 0, .25, .25, 0, pedal ? "16" : "8", false, false, false};
}

bool is_mixture(std::string_view name) {
  const std::string f = folded(name);
  for (const std::string_view word : {"mixture", "sesquialtera", "cornet", "furniture", "cymbal", "sharp"}) {
    if (f.find(word) != std::string::npos) return true;
  }
  return false;
}

std::vector<Feet> mixture_lengths(std::string_view name, std::string_view intervals, int ranks) {
  std::vector<Feet> out;
  const auto add = [&out](int interval) {
    for (const auto& [known, feet] : intervals_in_feet) {
      if (known == interval) out.emplace_back(Rational{feet.first, feet.second});
    }
  };
  for (std::size_t at = 0; at < intervals.size() && out.size() < 8;) {
    const std::size_t end = std::min(intervals.find_first_not_of("0123456789", at), intervals.size());
    int interval = 0;
    std::from_chars(intervals.data() + at, intervals.data() + end, interval);
    add(interval);
    at = std::min(intervals.find_first_of("0123456789", end), intervals.size());
  }
  if (!out.empty()) return out;
  const std::string f = folded(name);
  if (f.find("sesquialtera") != std::string::npos && ranks <= 2) {
    for (const int i : {12, 17}) add(i);
  } else if (f.find("cornet") != std::string::npos) {
    for (const int i : {1, 8, 12, 15, 17}) add(i);
    if (ranks > 0 && ranks < 5) out.erase(out.begin(), out.begin() + (5 - std::max(ranks, 2)));
  } else {
    switch (ranks) {
      case 1: add(22); break;
      case 0:
      case 2:
        for (const int i : {19, 22}) add(i);
        break;
      case 3:
        for (const int i : {15, 19, 22}) add(i);
        break;
      case 4:
        for (const int i : {15, 19, 22, 26}) add(i);
        break;
      default:
        for (const int i : {12, 15, 19, 22, 26}) add(i);
        break;
    }
  }
  return out;
}

Feet broken(Feet feet, int breaks) {
  static const std::vector<Feet> ladder{Feet{Rational{1, 2}}, Feet{Rational{2, 3}}, Feet{Rational{1}},
                                        Feet{Rational{4, 3}}, Feet{Rational{2}},    Feet{Rational{8, 3}},
                                        Feet{Rational{4}}};
  const auto at = std::find(ladder.begin(), ladder.end(), feet);
  if (at == ladder.end()) return feet;
  const auto left = static_cast<int>(ladder.end() - at) - 1;
  return *(at + std::min(breaks, left));
}

}  // namespace calcant::trade
