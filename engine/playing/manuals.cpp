#include "engine/playing/manuals.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <string_view>

namespace calcant {

namespace {

std::string lower(std::string_view text) {
  std::string out;
  for (const char c : text) out += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  // The accents that occur in these words.
  for (const auto& [from, to] : {std::pair<std::string_view, std::string_view>{"é", "e"}, {"É", "e"}, {"ü", "u"}}) {
    for (std::size_t at = out.find(from); at != std::string::npos; at = out.find(from))
      out.replace(at, from.size(), to);
  }
  return out;
}

std::vector<std::string> tokens(std::string_view text) {
  std::vector<std::string> out;
  std::string word;
  const std::string small = lower(text) + " ";
  for (const char c : small) {
    if (std::isalnum(static_cast<unsigned char>(c)) != 0) {
      word += c;
    } else if (c == '+') {
      out.emplace_back("+");
    } else if (c == '.' && word == "g") {
      continue;  // G. O.
    } else if (!word.empty()) {
      out.push_back(word);
      word.clear();
    }
  }
  return out;
}

struct Name {
  std::string_view word;
  std::string_view manual;
};
constexpr std::array names{
    Name{"gt", "Great"},        Name{"great", "Great"},       Name{"go", "Great"},          Name{"hw", "Great"},
    Name{"hauptwerk", "Great"}, Name{"sw", "Swell"},          Name{"swell", "Swell"},       Name{"recit", "Swell"},
    Name{"ow", "Swell"},        Name{"oberwerk", "Swell"},    Name{"schwellwerk", "Swell"}, Name{"ch", "Choir"},
    Name{"choir", "Choir"},     Name{"pos", "Choir"},         Name{"positif", "Choir"},     Name{"positiv", "Choir"},
    Name{"positive", "Choir"},  Name{"ruckpositiv", "Choir"}, Name{"rp", "Choir"},
};
constexpr std::array<std::string_view, 4> numerals{"i", "ii", "iii", "iv"};
constexpr std::array<std::string_view, 4> figures{"1", "2", "3", "4"};
// "Manual I", "I. Man.": what makes a numeral a manual's.
constexpr std::array<std::string_view, 5> callers{"man", "manual", "manuale", "clavier", "keyboard"};
// Words after which, or before which, the name is that of a coupled or added division.
constexpr std::array<std::string_view, 9> additions{"+",  "add",    "with",     "mit", "avec",
                                                    "to", "couple", "uncouple", "off"};
constexpr std::array<std::string_view, 5> couplings{"to", "coupled", "uncoupled", "cpld", "off"};

template <std::size_t N>
bool among(const std::array<std::string_view, N>& list, std::string_view word) {
  return std::find(list.begin(), list.end(), word) != list.end();
}

std::optional<KeyboardIndex> named(const Organ& o, std::string_view manual) {
  for (const KeyboardIndex k : manuals(o)) {
    for (const std::string& word : tokens(o.keyboards[static_cast<std::size_t>(k)].name)) {
      for (const Name& n : names) {
        if (n.word == word && n.manual == manual) return k;
      }
    }
  }
  return std::nullopt;
}

std::optional<KeyboardIndex> numbered(const Organ& o, std::size_t number) {
  constexpr std::array<std::string_view, 3> order{"Great", "Swell", "Choir"};
  const std::vector<KeyboardIndex> all = manuals(o);
  if (number >= all.size()) return std::nullopt;
  if (number < order.size()) {
    if (const auto k = named(o, order[number])) return k;
  }
  return all[number];
}

// Which manual the numeral at `i` means, 0 up: "Manual II", "II. Man.", or a Roman numeral all by itself.
std::optional<std::size_t> numeral_at(const std::vector<std::string>& words, std::size_t i) {
  const bool called = (i > 0 && among(callers, words[i - 1])) || (i + 1 < words.size() && among(callers, words[i + 1]));
  const auto roman = std::find(numerals.begin(), numerals.end(), words[i]);
  if (roman != numerals.end() && (called || words.size() == 1))
    return static_cast<std::size_t>(roman - numerals.begin());
  const auto figure = std::find(figures.begin(), figures.end(), words[i]);
  if (figure != figures.end() && called) return static_cast<std::size_t>(figure - figures.begin());
  return std::nullopt;
}

// The manual a text sends to; the last named where it names several.
std::optional<std::pair<std::string, std::optional<KeyboardIndex>>> manual_in(const Organ& o, std::string_view text) {
  std::optional<std::pair<std::string, std::optional<KeyboardIndex>>> out;
  const std::vector<std::string> words = tokens(text);
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0 && among(additions, words[i - 1])) continue;
    if (i + 1 < words.size() && among(couplings, words[i + 1])) continue;
    for (const Name& n : names) {
      if (n.word == words[i]) out = {std::string(n.manual), named(o, n.manual)};
    }
    if (const auto number = numeral_at(words, i)) {
      std::string label = "manual ";
      for (const char c : numerals[*number]) label += static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
      out = {label, numbered(o, *number)};
    }
  }
  return out;
}

bool for_hands(const Stave& s) { return s.role != Role::feet && s.role != Role::not_played; }

// "2 Clav.", "zwei Manuale", "deux claviers", "two manuals".
bool says_two_manuals(std::string_view text) {
  static constexpr std::array<std::string_view, 5> two{"2", "two", "zwei", "deux", "due"};
  static constexpr std::array<std::string_view, 4> begins{"clav", "manual", "keyboard", "tastier"};
  const std::vector<std::string> words = tokens(text);
  for (std::size_t i = 0; i + 1 < words.size(); ++i) {
    if (!among(two, words[i])) continue;
    for (const std::string_view b : begins) {
      if (words[i + 1].rfind(b, 0) == 0) return true;
    }
  }
  return false;
}

}  // namespace

std::vector<KeyboardIndex> manuals(const Organ& o) {
  std::vector<KeyboardIndex> out;
  for (std::size_t k = 0; k < o.keyboards.size(); ++k) {
    if (!o.keyboards[k].pedal) out.push_back(static_cast<KeyboardIndex>(k));
  }
  return out;
}

bool asks_for_two_manuals(const Score& score) {
  return says_two_manuals(score.title) ||
         std::any_of(score.directions.begin(), score.directions.end(),
                     [](const Direction& d) { return d.kind == Direction::Kind::words && says_two_manuals(d.text); });
}

std::vector<ManualWord> manual_words(const Score& score, const Organ& organ) {
  std::vector<ManualWord> out;
  for (std::size_t i = 0; i < score.staves.size(); ++i) {
    const Stave& stave = score.staves[i];
    if (!for_hands(stave)) continue;
    const auto found = manual_in(organ, stave.name);
    if (found) out.push_back({0, {}, {}, static_cast<int>(i), stave.name, found->first, found->second, true});
  }
  for (const Direction& d : score.directions) {
    if (d.kind != Direction::Kind::words) continue;
    if (d.stave >= 0 && !for_hands(score.staves[static_cast<std::size_t>(d.stave)])) continue;
    const auto found = manual_in(organ, d.text);
    if (!found) continue;
    out.push_back({d.bar, d.at, written(score, d.bar, d.at), d.stave, d.text, found->first, found->second, false});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const ManualWord& a, const ManualWord& b) { return a.written < b.written; });
  return out;
}

OnKeyboards::OnKeyboards(const Score& score, const Organ& organ,
                         const std::vector<std::optional<KeyboardIndex>>& chosen)
    : puts_(score.staves.size()) {
  const std::vector<KeyboardIndex> all = manuals(organ);
  manual_ = named(organ, "Great");
  if (!manual_ && !all.empty()) manual_ = all.front();
  for (std::size_t k = 0; k < organ.keyboards.size() && !pedal_; ++k) {
    if (organ.keyboards[k].pedal) pedal_ = static_cast<KeyboardIndex>(k);
  }
  for (std::size_t i = 0; i < chosen.size() && i < puts_.size(); ++i) {
    if (chosen[i]) puts_[i].push_back({Rational{}, *chosen[i], "as you said"});
  }
  const auto fixed = [&](std::size_t i) { return i < chosen.size() && chosen[i]; };
  for (const ManualWord& w : manual_words(score, organ)) {
    if (!w.keyboard) continue;
    for (std::size_t i = 0; i < puts_.size(); ++i) {
      const bool meant = w.stave < 0 ? for_hands(score.staves[i]) : w.stave == static_cast<int>(i);
      if (!meant || fixed(i)) continue;
      const std::string why =
          w.name ? "named " + w.text : "\"" + w.text + "\" at bar " + score.bars[static_cast<std::size_t>(w.bar)].label;
      puts_[i].push_back({w.written, *w.keyboard, why});
    }
  }
}

std::optional<KeyboardIndex> OnKeyboards::at(int stave, Role role, Rational written) const {
  std::optional<KeyboardIndex> out = role == Role::feet ? pedal_ : manual_;
  if (stave < 0 || static_cast<std::size_t>(stave) >= puts_.size()) return out;
  // A hymn's bass stands on a stave for the hands.
  for (const Put& p : puts_[static_cast<std::size_t>(stave)]) {
    const bool pedal = pedal_ && p.keyboard == *pedal_;
    if (p.from <= written && pedal == (role == Role::feet)) out = p.keyboard;
  }
  return out;
}

std::string OnKeyboards::reason(int stave) const {
  const auto& puts = puts_[static_cast<std::size_t>(stave)];
  std::string why = "nothing in the copy says otherwise";
  for (const Put& p : puts) {
    if (p.from == Rational{}) why = p.why;
  }
  return why;
}

std::vector<std::pair<Rational, Rational>> OnKeyboards::apart(const Score& score) const {
  std::vector<std::pair<Rational, Rational>> out;
  for (const Turn& turn : score.turns) {
    const Bar& bar = score.bars[static_cast<std::size_t>(turn.bar)];
    // The bar is cut where a stave is put somewhere else.
    std::vector<Rational> cuts{Rational{}, bar.length};
    for (const std::vector<Put>& puts : puts_) {
      for (const Put& p : puts) {
        const Rational in = p.from - bar.start;
        if (Rational{} < in && in < bar.length) cuts.push_back(in);
      }
    }
    std::sort(cuts.begin(), cuts.end());
    for (std::size_t c = 0; c + 1 < cuts.size(); ++c) {
      if (cuts[c] == cuts[c + 1]) continue;
      std::optional<KeyboardIndex> first;
      bool differ = false;
      for (std::size_t i = 0; i < score.staves.size(); ++i) {
        if (!for_hands(score.staves[i])) continue;
        const auto here = at(static_cast<int>(i), score.staves[i].role, bar.start + cuts[c]);
        if (first && here != first) differ = true;
        if (!first) first = here;
      }
      if (!differ) continue;
      const Rational from = turn.start + cuts[c];
      const Rational to = turn.start + cuts[c + 1];
      if (!out.empty() && out.back().second == from) {
        out.back().second = to;
      } else {
        out.emplace_back(from, to);
      }
    }
  }
  return out;
}

}  // namespace calcant
