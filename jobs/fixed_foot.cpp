#include "jobs/fixed_foot.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <string>
#include <vector>

#include "jobs/fit.hpp"

namespace calcant {
namespace {

constexpr std::size_t longest = 200;

// Words and numbers, lower case; "bar" and "beat" are left out.
std::vector<std::string> tokens(std::string_view text) {
  std::vector<std::string> out;
  std::string word;
  for (const char c : std::string(text) + " ") {
    const bool between = c == ' ' || c == ',' || c == '\t';
    if (!between) word += c;
    if (!between || word.empty()) continue;
    if (word != "bar" && word != "beat") out.push_back(word);
    word.clear();
  }
  return out;
}

std::optional<std::int64_t> whole(std::string_view text) {
  std::int64_t n = 0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), n);
  if (fault != std::errc{} || end != text.data() + text.size() || n < 0 || n > 100000) return std::nullopt;
  return n;
}

// "2", "1/2", "2.5"
std::optional<Rational> number(std::string_view text) {
  if (const auto slash = text.find('/'); slash != std::string_view::npos) {
    const auto above = whole(text.substr(0, slash));
    const auto below = whole(text.substr(slash + 1));
    if (!above || !below || *below == 0) return std::nullopt;
    return Rational{*above, *below};
  }
  if (const auto point = text.find('.'); point != std::string_view::npos) {
    const auto before = whole(text.substr(0, point));
    const auto after = whole(text.substr(point + 1));
    const std::size_t places = text.size() - point - 1;
    if (!before || !after || places == 0 || places > 4) return std::nullopt;
    std::int64_t tens = 1;
    for (std::size_t i = 0; i < places; ++i) tens *= 10;
    return Rational{*before} + Rational{*after, tens};
  }
  const auto n = whole(text);
  return n ? std::optional<Rational>{Rational{*n}} : std::nullopt;
}

struct Part {
  std::string_view word;
  std::optional<Foot> foot;
  std::optional<FootPart> part;
};
constexpr std::array parts{
    Part{"left", Foot::left, {}},   Part{"right", Foot::right, {}},   Part{"L", Foot::left, {}},
    Part{"R", Foot::right, {}},     Part{"l", Foot::left, {}},        Part{"r", Foot::right, {}},
    Part{"toe", {}, FootPart::toe}, Part{"heel", {}, FootPart::heel}, Part{"^", {}, FootPart::toe},
    Part{"o", {}, FootPart::heel},  Part{"∧", {}, FootPart::toe},     Part{"∪", {}, FootPart::heel},
};

// Reads "left toe", "L^", "heel" into `out`; false where something else stands there.
bool wanted(std::string_view text, FixedFoot& out) {
  for (const std::string& token : tokens(text)) {
    std::string_view left = token;
    while (!left.empty()) {
      const auto p = std::find_if(parts.begin(), parts.end(), [&](const Part& x) {
        return left.rfind(x.word, 0) == 0 && (x.word.size() > 1 || left.size() <= 4);
      });
      if (p == parts.end() || (p->foot && out.foot) || (p->part && out.part)) return false;
      if (p->foot) out.foot = p->foot;
      if (p->part) out.part = p->part;
      left.remove_prefix(p->word.size());
    }
  }
  return out.foot.has_value() || out.part.has_value();
}

struct PedalPlace {
  NoteId note;
  Moment moment;
};

// Every written note of the feet, tied ones too, by place; one for each key and time.
std::vector<PedalPlace> pedal_places(const Score& score) {
  std::vector<PedalPlace> out;
  for (const PedalPress& p : pedal_part(score, Tempo(score, assumed_tempo))) {
    Rational last{-1};
    for (const NoteId n : p.notes) {
      const WrittenNote& w = score.notes[n];
      const Rational onset = written(score, w.bar, w.at);
      if (onset <= last) continue;
      last = onset;
      Moment m;
      m.bar = score.bars[static_cast<std::size_t>(w.bar)].label;
      m.bar_index = w.bar;
      m.at = w.at;
      out.push_back({n, m});
    }
  }
  return out;
}

std::string told(const Score& score, const PedalPlace& p) {
  return fmt::format("beat {} {}", beat_text(beat(score, p.moment)), spelling(score, p.note));
}

Result<NoteId> note_at(const Score& score, const std::vector<std::string>& place, std::string_view text) {
  const std::string where{text};
  Rational at;
  std::size_t i = 1;
  while (i < place.size()) {
    const auto more = number(place[i]);
    if (!more) break;
    at += *more;
    ++i;
  }
  const bool named = i + 1 == place.size();
  if (i == 1 || (!named && i != place.size())) {
    return fail("A place is a bar and a beat: \"bar 12, beat 2 1/2: left toe\"", where);
  }
  std::optional<Note> key;
  if (named) {
    const auto parsed = parse_note(place[i]);
    if (!parsed) return fail(parsed.error().message, where);
    key = *parsed;
  }
  std::vector<PedalPlace> in_bar;
  std::vector<PedalPlace> there;
  for (const PedalPlace& p : pedal_places(score)) {
    if (p.moment.bar != place[0]) continue;
    in_bar.push_back(p);
    if (beat(score, p.moment) == at && (!key || score.notes[p.note].note == *key)) there.push_back(p);
  }
  if (there.size() == 1) return there.front().note;
  if (in_bar.empty()) return fail(fmt::format("The feet play nothing in a bar {}", place[0]), where);
  std::string all;
  for (std::size_t k = 0; k < in_bar.size() && k < 16; ++k) all += (k == 0 ? "" : ", ") + told(score, in_bar[k]);
  return fail(
      fmt::format("{}; in bar {} they play: {}",
                  there.empty() ? "The feet begin nothing there" : "The feet have several notes there; name one",
                  place[0], all),
      where);
}

}  // namespace

Result<FixedFoot> parse_fixed_foot(const Score& score, std::string_view text) {
  const std::string where{text.substr(0, longest)};
  const auto colon = text.rfind(':');
  FixedFoot out;
  if (text.size() > longest || colon == std::string_view::npos || !wanted(text.substr(colon + 1), out)) {
    return fail("A mark is a place, a colon, and a foot, a part or both: \"bar 12, beat 2: left toe\"", where);
  }
  const std::vector<std::string> place = tokens(text.substr(0, colon));
  if (place.size() == 1 && place[0].size() > 1 && place[0][0] == 'n') {
    const auto id = whole(std::string_view(place[0]).substr(1));
    if (!id || static_cast<std::size_t>(*id) >= score.notes.size()) {
      return fail(fmt::format("There is no note {} in this score", place[0]), where);
    }
    out.note = static_cast<NoteId>(*id);
    return out;
  }
  if (place.size() < 2) return fail("A place is a bar and a beat: \"bar 12, beat 2: left toe\"", where);
  const auto note = note_at(score, place, where);
  if (!note) return tl::unexpected(note.error());
  out.note = *note;
  return out;
}

}  // namespace calcant
