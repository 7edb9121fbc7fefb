#include "engine/score/score.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "engine/score/lines.hpp"

namespace calcant {
namespace {

std::string words_at(const Moment& m, Rational beat) {
  if (m.verse > 0) {
    return m.line > 0 ? fmt::format("v{}, line {}", m.verse, m.line) : fmt::format("v{}", m.verse);
  }
  std::string text = fmt::format("bar {}, beat {}", m.bar, beat_text(beat));
  if (m.line > 0) text = fmt::format("line {} ({})", m.line, text);
  if (m.pass == 2) text += ", second time";
  if (m.pass > 2) text += fmt::format(", time {}", m.pass);
  return text;
}

// The turn that is being played at a performed time.
std::vector<Turn>::const_iterator turn_at(const Score& s, Rational performed) {
  auto next = std::upper_bound(s.turns.begin(), s.turns.end(), performed,
                               [](const Rational& t, const Turn& turn) { return t < turn.start; });
  return next == s.turns.begin() ? next : next - 1;
}

}  // namespace

std::string words(const Moment& m) { return words_at(m, m.at + Rational{1}); }

std::string words(const Score& s, const Moment& m) { return words_at(m, beat(s, m)); }

Rational beat(const Score& s, const Moment& m) {
  const auto index = static_cast<std::size_t>(m.bar_index);
  if (m.bar_index < 0 || index >= s.bars.size() || s.bars[index].beat_type <= 0) return m.at + Rational{1};
  const Bar& bar = s.bars[index];
  const Rational length{4, bar.beat_type};
  const Rational full = length * Rational{bar.beats};
  const Rational missing = bar.pickup && bar.length < full ? full - bar.length : Rational{};
  return (m.at + missing) / length + Rational{1};
}

std::string beat_text(Rational beat) {
  const std::int64_t whole = beat.num() / beat.den();
  const Rational rest = beat - Rational{whole};
  if (rest == Rational{}) return fmt::format("{}", whole);
  return whole == 0 ? to_string(rest) : fmt::format("{} {}", whole, to_string(rest));
}

std::string_view word(Role r) {
  switch (r) {
    case Role::right_hand: return "right hand";
    case Role::left_hand: return "left hand";
    case Role::feet: return "feet";
    case Role::not_played: return "not played";
    case Role::either_hand: break;
  }
  return "either hand";
}

std::string_view word(Bass b) {
  switch (b) {
    case Bass::feet: return "feet";
    case Bass::both: return "both";
    case Bass::hands: break;
  }
  return "hands";
}

Result<Bass> parse_bass(std::string_view text) {
  for (const Bass b : {Bass::hands, Bass::feet, Bass::both}) {
    if (text == word(b)) return b;
  }
  return fail(fmt::format("the bass is played by feet, hands or both, not \"{}\"", text));
}

Rational written(const Score& s, int bar, Rational at) { return s.bars[static_cast<std::size_t>(bar)].start + at; }

Rational performed_length(const Score& s) {
  if (s.turns.empty()) return {};
  const Turn& last = s.turns.back();
  return last.start + s.bars[static_cast<std::size_t>(last.bar)].length;
}

Moment moment_at(const Score& s, Rational performed) {
  if (s.turns.empty()) return {};
  performed = std::clamp(performed, Rational{}, performed_length(s));
  const Turn& turn = *turn_at(s, performed);
  const std::vector<Rational> ends = line_ends(s);
  // The end of the last line still belongs to it: nothing follows.
  const auto passed = std::upper_bound(ends.begin(), ends.end(), performed) - ends.begin();
  const int line = ends.empty() ? 0 : static_cast<int>(std::min<std::ptrdiff_t>(passed + 1, std::ssize(ends)));
  return {s.bars[static_cast<std::size_t>(turn.bar)].label, turn.bar, performed - turn.start, turn.pass, 0, line};
}

std::optional<Rational> performed_at(const Score& s, const Moment& m) {
  for (const Turn& turn : s.turns) {
    if (turn.bar != m.bar_index || turn.pass != m.pass) continue;
    if (m.at < Rational{} || m.at > s.bars[static_cast<std::size_t>(turn.bar)].length) return std::nullopt;
    return turn.start + m.at;
  }
  return std::nullopt;
}

}  // namespace calcant
