#include "jobs/hymn_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <string>

#include "engine/quantity/typed.hpp"
#include "engine/score/lines.hpp"

namespace calcant {
namespace {

constexpr int most_verses = 60;

// A whole number, and the word that follows it ("6 verses").
std::optional<std::pair<int, std::string>> counted(std::string_view s) {
  int n = 0;
  const auto [end, fault] = std::from_chars(s.data(), s.data() + s.size(), n);
  if (fault != std::errc{}) return std::nullopt;
  return std::pair{n, lower(trimmed(s.substr(static_cast<std::size_t>(end - s.data()))))};
}

}  // namespace

Result<void> set_key(Hymn& hymn, std::string_view text) {
  std::string s = lower(trimmed(text));
  const auto wrong = [&] {
    return fail(fmt::format("'{}' is no key; one is written G, E flat, F# minor.", std::string{text.substr(0, 40)}),
                "key");
  };
  if (s.empty() || s[0] < 'a' || s[0] > 'g') return wrong();
  constexpr int naturals[] = {9, 11, 0, 2, 4, 5, 7};  // a to g
  int tonic = naturals[s[0] - 'a'];
  std::string key(1, static_cast<char>(s[0] - 'a' + 'A'));
  std::string_view rest = std::string_view{s}.substr(1);
  // "bb" and "b flat" are the key of B flat; "b" alone is B.
  rest = trimmed(rest);
  const auto starts = [&](std::string_view w) {
    if (!rest.starts_with(w)) return false;
    rest.remove_prefix(w.size());
    return true;
  };
  if (starts("sharp") || starts("#") || starts("\u266f")) {
    tonic += 1;
    key += " sharp";
  } else if (starts("-flat") || starts("flat") || starts("b") || starts("\u266d")) {
    tonic += 11;
    key += " flat";
  }
  rest = trimmed(rest);
  bool minor = false;
  if (rest == "minor" || rest == "m") minor = true;
  else if (!rest.empty() && rest != "major") return wrong();
  hymn.tonic = tonic % 12;
  hymn.minor = minor;
  hymn.key = key + (minor ? " minor" : " major");
  return {};
}

Result<void> set_metre(Hymn& hymn, std::string_view text) {
  const std::string_view s = trimmed(text);
  if (const auto n = counted(s); n && (n->second.empty() || n->second == "lines" || n->second == "line")) {
    if (n->first < 1 || n->first > 24) return fail("A tune has 1 to 24 lines.", "lines");
    hymn.lines = n->first;
    hymn.metre = fmt::format("{} lines", n->first);
    return {};
  }
  const auto metre = parse_metre(s);
  if (!metre) return tl::unexpected<Error>(metre.error());
  hymn.lines = static_cast<int>(metre->size());
  hymn.metre = std::string{s};
  return {};
}

Result<PlayOver> parse_play_over(std::string_view text) {
  const std::string s = lower(trimmed(text));
  if (s == "first" || s == "first line") return PlayOver::first_line;
  if (s == "last" || s == "last line") return PlayOver::last_line;
  if (s == "both" || s == "first and last") return PlayOver::first_and_last;
  if (s == "whole" || s == "all") return PlayOver::whole;
  if (s == "none") return PlayOver::none;
  return fail(fmt::format("A play-over is first, last, both, whole or none, not '{}'.", s.substr(0, 40)), "play-over");
}

Result<Hymn> parse_hymn(std::string_view text) {
  Hymn h;
  if (text.size() > 400) return fail("This is too long for a hymn: tune, key, metre or lines, verses.", "--hymn");
  std::vector<std::string> fields;
  while (true) {
    const auto comma = text.find(',');
    fields.emplace_back(trimmed(text.substr(0, comma)));
    if (comma == std::string_view::npos) break;
    text.remove_prefix(comma + 1);
  }
  h.tune = fields.front();
  if (const auto n = counted(h.tune); n && !n->second.empty()) {
    h.number = std::to_string(n->first);
    h.tune = std::string{trimmed(std::string_view{h.tune}.substr(h.number.size()))};
  }
  if (h.tune.empty()) return fail("A hymn begins with its tune: \"St Anne, C major, 8.6.8.6, 6 verses\".", "--hymn");
  std::vector<int> bare;
  int verses = 0;
  for (std::size_t i = 1; i < fields.size(); ++i) {
    const std::string& f = fields[i];
    if (f.empty()) continue;
    const auto n = counted(f);
    const bool of_verses =
        n && (n->second == "verses" || n->second == "verse" || n->second == "v" || n->second == "vv");
    if (of_verses) {
      verses = n->first;
    } else if (n && n->second.empty()) {
      bare.push_back(n->first);
    } else if (set_metre(h, f)) {
    } else if (set_key(h, f)) {
    } else {
      return fail(
          fmt::format(
              "'{}' is neither a key (G, E flat minor), nor a metre (8.6.8.6, CM) or lines (4 lines), nor verses "
              "(6 verses).",
              f.substr(0, 60)),
          "--hymn");
    }
  }
  if (!bare.empty() && verses == 0) {
    verses = bare.back();
    bare.pop_back();
  }
  for (const int n : bare) {
    if (const auto lines = set_metre(h, std::to_string(n)); !lines) return tl::unexpected<Error>(lines.error());
  }
  if (verses == 0)
    return fail("How many verses are sung? Write it last: \"St Anne, C major, 8.6.8.6, 6 verses\".", "--hymn");
  if (verses < 1 || verses > most_verses) return fail(fmt::format("A hymn has 1 to {} verses.", most_verses), "--hymn");
  h.verses.resize(static_cast<std::size_t>(verses));
  return h;
}

namespace {

// The verses a word is for: "2", "1-3", and of a psalm "3a", "3b", "2-4b", "Gloria". Half 0: the whole verse.
struct VersesMeant {
  int from = 0;
  int to = 0;
  int half = 0;
};
std::optional<VersesMeant> verses_meant(const Hymn& h, std::string_view text) {
  const bool psalm = h.kind == ItemKind::psalm;
  VersesMeant out;
  if (psalm && !h.verses.empty() && !h.verses.back().label.empty() && lower(text) == lower(h.verses.back().label)) {
    out.from = out.to = static_cast<int>(h.verses.size());
    return out;
  }
  if (psalm && !text.empty() && (text.back() == 'a' || text.back() == 'b')) {
    out.half = text.back() == 'a' ? 1 : 2;
    text.remove_suffix(1);
  }
  const char* end = text.data() + text.size();
  auto [stop, fault] = std::from_chars(text.data(), end, out.from);
  if (fault != std::errc{}) return std::nullopt;
  out.to = out.from;
  if (stop != end && *stop == '-') {
    const auto second = std::from_chars(stop + 1, end, out.to);
    if (second.ec != std::errc{}) return std::nullopt;
    stop = second.ptr;
  }
  if (stop != end) return std::nullopt;
  return out;
}

}  // namespace

Result<void> set_words(Hymn& h, const std::string& text) {
  const auto colon = text.find(':');
  const auto meant =
      colon == std::string::npos ? std::nullopt : verses_meant(h, std::string_view{text}.substr(0, colon));
  const bool over = colon != std::string::npos && std::string_view{text}.substr(0, colon) == "play-over";
  if (!meant && !over) {
    return fail(fmt::format("'{}' does not say which verse; write \"2: soft, no pedal\" or \"1-3: firm\"{}.",
                            text.substr(0, 80),
                            h.kind == ItemKind::psalm ? ", of half a verse \"3b: dark\", \"Gloria: full\"" : ""),
                "--word");
  }
  const std::string_view word = std::string_view{text}.substr(colon + 1);
  if (over) {
    h.over = parse_verse(word, h.words);
    return {};
  }
  const auto [from, to, half] = *meant;
  if (from < 1 || to < from || to > static_cast<int>(h.verses.size())) {
    return fail(fmt::format("There is no verse {} to {}; {} are sung.", from, to, h.verses.size()), "--word");
  }
  for (int v = from; v <= to; ++v) {
    const Verse said = parse_verse(word, h.words);
    Verse& verse = h.verses[static_cast<std::size_t>(v) - 1];
    if (half == 0) lay_words(verse, said);
    else lay_words(verse, said, half == 1 ? Half::first : Half::second);
  }
  return {};
}

}  // namespace calcant
