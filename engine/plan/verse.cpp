#include "engine/plan/verse.hpp"

#include <algorithm>

#include "engine/quantity/typed.hpp"

namespace calcant {
namespace {

// The words of a text that is in lower case already.
std::vector<std::string> words_of(std::string_view text) {
  std::vector<std::string> out(1);
  for (const char c : text) {
    if (c == ' ' || c == ',' || c == ';' || c == '/' || c == '\t') {
      if (!out.back().empty()) out.emplace_back();
    } else {
      out.back() += c;
    }
  }
  if (out.back().empty()) out.pop_back();
  return out;
}

const WishWord* find(const std::string& word, const Wordbook& own) {
  for (const Wordbook* book : {&own, &usual_words()}) {
    for (const WishWord& w : *book) {
      if (w.word == word) return &w;
    }
  }
  return nullptr;
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

const Wordbook& usual_words() {
  static const Wordbook words{
      {"soft", 0.0, 0},     {"hushed", 0.0, 0},   {"quiet", 0.05, 0},    {"prayer", 0.05, 0},  {"awe", 0.1, -0.5},
      {"gentle", 0.1, 0},   {"dark", 0.15, -1},   {"calm", 0.15, 0},     {"warm", 0.3, -0.5},  {"plain", 0.4, 0},
      {"ordinary", 0.4, 0}, {"trust", 0.4, 0},    {"firm", 0.55, 0},     {"bright", 0.65, 1},  {"bold", 0.7, 0},
      {"joy", 0.75, 0.5},   {"praise", 0.75, 0},  {"strong", 0.85, 0},   {"glory", 0.85, 0.5}, {"full", 1.0, 0},
      {"triumph", 1.0, 0},  {"triumphant", 1, 0}, {"pp", 0.05, 0},       {"p", 0.2, 0},        {"mp", 0.35, 0},
      {"mf", 0.55, 0},      {"f", 0.8, 0},        {"ff", 0.95, 0},       {"fff", 1.0, 0},      {"darker", {}, -1},
      {"brighter", {}, 1},  {"light", 0.3, 1},    {"solemn", 0.35, -0.5}};
  return words;
}

std::optional<Meaning> meaning(std::string_view wish, const Wordbook& own) {
  Meaning m;
  bool known = false;
  double sum = 0;
  int counted = 0;
  for (const std::string& word : words_of(lower(wish))) {
    const WishWord* w = find(word, own);
    if (w == nullptr) continue;
    known = true;
    m.colour = std::clamp(m.colour + w->colour, -1.0, 1.0);
    if (!w->share) continue;
    sum += *w->share;
    ++counted;
  }
  if (!known) return std::nullopt;
  if (counted > 0) m.share = sum / counted;
  return m;
}

Verse parse_verse(std::string_view text, const Wordbook& own) {
  Verse v;
  if (const auto bar = text.find('|'); bar != std::string_view::npos) {
    v = parse_verse(text.substr(0, bar), own);
    v.second = parse_verse(text.substr(bar + 1), own).wish;
    return v;
  }
  std::string rest = lower(text);
  for (char& c : rest) {
    if (c == ',' || c == ';' || c == '/') c = ' ';
  }
  const auto take = [&](std::string_view what) {
    const std::string padded = " " + rest + " ";
    const auto at = padded.find(" " + std::string{what} + " ");
    if (at == std::string::npos) return false;
    rest.replace(at, what.size(), std::string(what.size(), ' '));
    return true;
  };
  if (take("no pedal") || take("manuals only")) v.kind = VerseKind::no_pedal;
  if (take("unaccompanied")) v.kind = VerseKind::unaccompanied;
  if (take("descant")) v.kind = VerseKind::descant;
  if (take("unison")) v.kind = VerseKind::unison;
  if (take("tune on a solo stop") || take("tune on a reed") || take("solo")) v.kind = VerseKind::solo;
  take("harmony");
  // Known words alone, where there are any; else everything that is left.
  std::string all;
  for (const std::string& w : words_of(rest)) {
    all += (all.empty() ? "" : " ") + w;
    if (find(w, own) != nullptr) v.wish += (v.wish.empty() ? "" : " ") + w;
  }
  if (v.wish.empty()) v.wish = all;
  return v;
}

}  // namespace calcant
