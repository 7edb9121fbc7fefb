#include "jobs/chords_asked.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <sstream>

#include "engine/plan/piece.hpp"
#include "jobs/read_score.hpp"

namespace calcant {
namespace {

constexpr std::size_t most_chords = 6;
constexpr int most_keys = 10;

Result<std::vector<KeysDown>> typed_chords(const Organ& organ, const std::string& text, KeyboardIndex on) {
  const Keyboard& board = organ.keyboards[static_cast<std::size_t>(on)];
  std::vector<KeysDown> out;
  std::istringstream chords{text};
  for (std::string chord; std::getline(chords, chord, ';');) {
    NoteSet keys;
    std::replace(chord.begin(), chord.end(), ',', ' ');
    std::istringstream notes{chord};
    for (std::string word; notes >> word;) {
      const auto note = parse_note(word);
      if (!note) return fail(note.error().message, "--chords");
      if (!board.keys.contains(note->midi)) {
        return fail(fmt::format("{} is no key of the {}", name(*note), board.name), "--chords");
      }
      keys.insert(note->midi);
    }
    if (keys.size() == 0) continue;
    if (keys.size() > most_keys)
      return fail(fmt::format("a chord has {} keys; ten can be held", keys.size()), "--chords");
    out.emplace_back().keys[static_cast<std::size_t>(on)] = keys;
  }
  if (out.empty() || out.size() > most_chords) {
    return fail(fmt::format("{} chords are given; one to {} can be weighed, as in \"C3 G3 C4 E4; C4 E4 G4 C5\"",
                            out.size(), most_chords),
                "--chords");
  }
  return out;
}

// Indices of the first and last bar of "9-16".
Result<std::pair<int, int>> bars_asked(const Score& score, const std::string& bars) {
  const auto index = [&](const std::string& label) -> Result<int> {
    for (std::size_t i = 0; i < score.bars.size(); ++i) {
      if (score.bars[i].label == label) return static_cast<int>(i);
    }
    return fail(fmt::format("there is no bar {}; the score has bars {} to {}", label.substr(0, 20),
                            score.bars.front().label, score.bars.back().label),
                "--bars");
  };
  const std::size_t dash = bars.find('-');
  const auto first = index(bars.substr(0, dash));
  if (!first) return tl::unexpected(first.error());
  const auto last = dash == std::string::npos ? first : index(bars.substr(dash + 1));
  if (!last) return tl::unexpected(last.error());
  if (*last < *first)
    return fail(fmt::format("bar {} comes before bar {}", bars.substr(dash + 1), bars.substr(0, dash)), "--bars");
  return std::pair{*first, *last};
}

Result<std::vector<KeysDown>> passage_chords(const Organ& organ, const ChordsAsked& asked, KeyboardIndex on) {
  auto read = read_score(asked.passage);
  if (!read) return tl::unexpected(read.error());
  Score& score = read->score;
  if (score.bars.empty()) return fail("there is no bar in this score", asked.passage);
  if (!asked.bars.empty()) {
    const auto bars = bars_asked(score, asked.bars);
    if (!bars) return tl::unexpected(bars.error());
    std::erase_if(score.notes, [&](const WrittenNote& n) { return n.bar < bars->first || n.bar > bars->second; });
    for (std::size_t i = 0; i < score.notes.size(); ++i) score.notes[i].id = static_cast<NoteId>(i);
  }
  std::vector<KeysDown> out;
  for (const Chord& c : sampled_chords(score, most_chords)) {
    const NoteSet hands = (c.right | c.left) & organ.keyboards[static_cast<std::size_t>(on)].keys;
    if (hands.size() > 0) out.emplace_back().keys[static_cast<std::size_t>(on)] = hands;
  }
  if (out.empty()) {
    return fail("the hands play nothing of this passage on keys of this manual; name other bars", asked.passage);
  }
  return out;
}

}  // namespace

Result<std::vector<KeysDown>> chords_asked(const OrganContext& context, const ChordsAsked& asked, KeyboardIndex on) {
  if (!asked.bars.empty() && asked.passage.empty())
    return fail("bars of what? Give the score with --passage", "--bars");
  if (!asked.any()) return std::vector<KeysDown>{};
  if (!asked.typed.empty() && !asked.passage.empty()) {
    return fail("give chords or a passage, not both", "--chords");
  }
  return asked.typed.empty() ? passage_chords(context.organ, asked, on) : typed_chords(context.organ, asked.typed, on);
}

}  // namespace calcant
